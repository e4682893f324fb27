/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SHOT_LANES_H
#define SH_SHOT_LANES_H

#include <stdbool.h>
#include <stddef.h>

#include "shot/window.h"

/*
 * All streams of a recording side by side, the force among them, and views cut across them.
 * One thread at a time. Test: tests/shot/test_lanes.c.
 */
struct sh_lanes {
    size_t n;
    struct sh_window window[SH_STREAMS_MAX]; /* owned */
    struct sh_shot_force force; /* where it comes from: stream, channels, rate, delay */
    double *net_n;              /* [frames of the force's history], owned; of the last view */
    bool has_bow;
    size_t bow; /* first stream with the bow's acceleration, and its axes */
    size_t n_axes;
    size_t axis[SH_STREAM_CHANNELS_MAX];
    size_t leader;       /* the stream that shows draws: the force's, else the bow's */
    size_t n_frames_max; /* of any stream's history */
};

/*
 * Opens a window on each of n streams (1 to SH_STREAMS_MAX, copied). The force is the first
 * string force, or else the fingers of the stream that has most of them; its delay is the
 * channels' mean. force.is_present is false where there is neither; has_bow, where nothing
 * feels the bow. Statuses of sh_window_open; what was opened is then closed.
 */
enum sh_status sh_lanes_open(struct sh_lanes *lanes,
                             const struct sh_stream *const *stream,
                             size_t n,
                             enum sh_timebase_reading reading,
                             struct sh_error *err);

/* Frees what they own. Takes closed or zeroed lanes. */
void sh_lanes_close(struct sh_lanes *lanes);

/* All windows as newly opened. */
void sh_lanes_reset(struct sh_lanes *lanes);

/* The window of the leader. */
const struct sh_window *sh_lanes_get_leader(const struct sh_lanes *lanes);

/* Have all streams come to a time? Cost: O(anchors). */
bool sh_lanes_have_reached(const struct sh_lanes *lanes, double time_s);

/*
 * Cuts all streams between two times into *view, with the force, no rest level taken off, in
 * net_n. What a history no longer or not yet holds is left out. Borrowed until the next push.
 */
void sh_lanes_cut(struct sh_lanes *lanes,
                  double from_s,
                  double until_s,
                  struct sh_shot_view *view);

/* Drops what lies before a time from a view that was cut. */
void sh_lanes_trim(const struct sh_lanes *lanes, double from_s, struct sh_shot_view *view);

#endif
