/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_LIVE_SHOT_WINDOW_H
#define SH_LIVE_SHOT_WINDOW_H

#include <stdbool.h>

#include "recording/recording_reader.h"
#include "shot/owned_view.h"

/*
 * Some seconds out of a recording, in physical units, as the view that a shot is looked at in:
 * read from where they lie in the audio files, so that a close-up costs the same anywhere in an
 * hour. Test of all: tests/live/test_shot_window.c.
 */

#define SH_SHOT_WINDOW_S_MAX 180.0

struct sh_shot_window_config {
    double from_s;
    double until_s;
    double draw_start_s; /* rest levels are those before it; NaN: the window's first second */
    enum sh_timebase_reading reading;
    double lead_s; /* 0 or more: forces are read from so long before from_s, to their rest */
    bool is_force_only; /* streams without a force have no samples in the view */
};

/*
 * Reads the window out of a reader, which must outlive it. The view's streams are those of the
 * session, in its order; one without samples in the window has n_frames 0; only those with a
 * force reach back by lead_s. Its force is the
 * one that sh_force_choice_make chooses, less the rest level
 * (shot/rest.h, of what the window holds before the draw; 0 where that is too short). A load
 * drift is taken off as from five of its time constants before, which leaves 0.7 % of it.
 * SH_ERR_ARGUMENT: not from_s < until_s, lead_s below 0, or with it longer than
 * SH_SHOT_WINDOW_S_MAX. SH_ERR_MEMORY;
 * statuses of sh_recording_reader_read. *out is to be closed on SH_OK.
 * Cost: the frames of the window, about 20 ns a value.
 */
enum sh_status sh_shot_window_open(struct sh_recording_reader *reader,
                                   const struct sh_shot_window_config *config,
                                   struct sh_owned_view *out,
                                   struct sh_error *err);

/* Frames of a stream with from_s <= t < until_s, the delay taken off. */
struct sh_shot_window_span {
    size_t first;
    size_t n;
};

struct sh_shot_window_span sh_shot_window_find(const struct sh_shot_stream *stream,
                                               double delay_s,
                                               double from_s,
                                               double until_s);

/* The same of the view's force; nothing where there is none. */
struct sh_shot_window_span
sh_shot_window_find_force(const struct sh_shot_view *view, double from_s, double until_s);

#endif
