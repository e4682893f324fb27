/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SHOT_WINDOW_H
#define SH_SHOT_WINDOW_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "metrology/load_drift.h"
#include "sensor/timebase.h"
#include "shot/history.h"
#include "shot/shot.h"

/*
 * A stream of the segmenter: its history, its clock, and the piece of both that a view lends.
 * What a piece holds depends on frames and anchors alone, never on when it is asked for, as
 * long as the history still has it. Test: tests/shot/test_window.c.
 */
struct sh_window {
    struct sh_stream stream;
    struct sh_timebase timebase; /* owned */
    enum sh_timebase_reading reading;
    struct sh_history *history; /* owned */
    double *time_s;             /* [capacity of the history], owned */
    struct sh_load_drift_state drift[SH_STREAM_CHANNELS_MAX]; /* of the channels, so far */
};

/* Opens a window on a stream (copied). Statuses of sh_history_open and sh_timebase_init. */
enum sh_status sh_window_open(struct sh_window *window,
                              const struct sh_stream *stream,
                              enum sh_timebase_reading reading,
                              struct sh_error *err);

/* Frees what it owns. Takes a closed or zeroed window. */
void sh_window_close(struct sh_window *window);

/*
 * As newly opened, without anchors. SH_ERR_ARGUMENT cannot come from a stream that opened.
 */
enum sh_status sh_window_reset(struct sh_window *window);

/* Time of a frame, without any channel's delay. */
double sh_window_get_time_s(const struct sh_window *window, uint64_t frame, double *u_s);

/*
 * The first frame whose time is time_s or later; it may not have come yet. Once it has come,
 * later anchors leave the answer as it is: they only count from frames behind it.
 * Cost: O(anchors).
 */
uint64_t sh_window_find_frame(const struct sh_window *window, double time_s);

/* True where the first frame at or after time_s has come. */
bool sh_window_has_reached(const struct sh_window *window, double time_s);

/*
 * Fills *out with the frames first .. end - 1 that are held, their times and the clock's
 * uncertainty at the last one. Borrowed until
 * the window's next push. Rest levels are left unknown. Cost: O(frames).
 */
void sh_window_cut(struct sh_window *window,
                   uint64_t first,
                   uint64_t end,
                   struct sh_shot_stream *out);

/* Drops the first n frames of a piece, n not above n_frames. */
void sh_window_trim(struct sh_shot_stream *piece, size_t n);

#endif
