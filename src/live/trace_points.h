/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_LIVE_TRACE_POINTS_H
#define SH_LIVE_TRACE_POINTS_H

#include <stddef.h>

#include "base/status.h"
#include "shot/shot.h"

/*
 * One channel of a close-up as the page draws it: sample by sample, or where there are more
 * samples than points the lowest and the highest of each piece of time, so that no peak is
 * lost. A hole is one point of NaN, however long it is.
 * Test of all: tests/live/test_trace_points.c.
 */
struct sh_trace_points {
    double *t_s; /* owned, [capacity]; relative to the span's zero */
    double *lo;  /* in the same memory; NaN: lost */
    double *hi;
    size_t n;
    size_t capacity;
};

/* Which time, and in how many pieces. */
struct sh_trace_points_span {
    double zero_s;  /* on the recording's clock */
    double from_s;  /* relative to it */
    double until_s; /* after from_s */
    size_t n_pieces;
};

/* Room for n_pieces pieces, three points each: a hole parts one in three. SH_ERR_MEMORY. */
enum sh_status sh_trace_points_open(size_t n_pieces, struct sh_trace_points *points);

/* Frees. Takes a zeroed one. */
void sh_trace_points_close(struct sh_trace_points *points);

/*
 * Fills points, which were opened for span->n_pieces or more, with channel k of a stream, its
 * delay taken off its times and offset off its values. Sample by sample where the span holds no
 * more than n_pieces; else each point stands in the middle of its piece.
 * Cost: 3 ns a sample.
 */
void sh_trace_points_fill(struct sh_trace_points *points,
                          const struct sh_trace_points_span *span,
                          const struct sh_shot_stream *stream,
                          size_t k,
                          double offset);

#endif
