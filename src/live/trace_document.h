/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_LIVE_TRACE_DOCUMENT_H
#define SH_LIVE_TRACE_DOCUMENT_H

#include <stdbool.h>

#include "base/text.h"
#include "finding/finding.h"
#include "recording/recording_reader.h"

/*
 * The close-up of one shot as the page draws it (docs/live.md, TRACE): every channel around an
 * event, the events, the trend of the force before the click, and where in the curve each
 * finding has its evidence. Read out of the recording on disk, which may still be written.
 * Test of all: tests/live/test_trace_document.c.
 */

#define SH_TRACE_DOCUMENT_POINTS_MIN 16u
#define SH_TRACE_DOCUMENT_POINTS_MAX 8000u
#define SH_TRACE_DOCUMENT_REACH_S    60.0 /* either way from the event */

/*
 * The main channel is the string's force; in a recording without it the main ones are the
 * fingers', whose sum stands in for it; without those the first channel there is. Enough for a
 * row of the list, and what a close-up begins with.
 */
enum sh_trace_channels {
    SH_TRACE_CHANNELS_ALL,
    SH_TRACE_CHANNELS_MAIN,
    SH_TRACE_CHANNELS_OTHERS, /* than the main ones */
};

/* What stands at 0 of the time axis, and what is shown. */
struct sh_trace_document_config {
    enum sh_event align; /* RELEASE, CLICKER or FULL_DRAW; another stands in where unknown */
    double from_s;       /* relative, -SH_TRACE_DOCUMENT_REACH_S or later */
    double until_s;      /* relative, up to SH_TRACE_DOCUMENT_REACH_S */
    size_t n_points;     /* a channel, about */
    enum sh_timebase_reading reading; /* FORWARD for shots of the first pass */
    enum sh_trace_channels channels;
};

/* At the release, -5 s to 1.5 s, 1500 points, BETWEEN, all channels. */
struct sh_trace_document_config sh_trace_document_config_default(void);

/*
 * Appends the document. A channel that has more samples than points is given as the lowest and
 * highest of each piece of time, else sample by sample. Forces are net of the rest level before
 * the draw. Which channels are asked for changes nothing else. At lost samples stands a point
 * of nulls. Times are relative to the event aligned at (where that is unknown: release,
 * let-down, end, draw start, whichever is known first).
 *
 * Evidence has a role ("string_force" also of the fingers' sum; "finger_force"), a unit and:
 * creep, the largest fall of the 500 ms mean, from its top to its bottom; flinch, the dip's
 * side means and its depth; collapse, the mean before the click and the force at the release;
 * finger-slide, the ring finger's share when its fall began and at the release.
 *
 * SH_ERR_ARGUMENT: config out of its range; SH_ERR_NOT_FOUND: no event of the shot is known;
 * statuses of sh_shot_window_open and text. Nothing is appended but on SH_OK.
 * Cost: reading the window (2 ms for 8 s of 13,600 values a second; without the bow's channels
 * where only the main ones are asked for), 0.1 us a point.
 */
enum sh_status sh_trace_document_write(struct sh_recording_reader *reader,
                                       const struct sh_shot_record *record,
                                       const struct sh_trace_document_config *config,
                                       struct sh_text *text,
                                       struct sh_error *err);

#endif
