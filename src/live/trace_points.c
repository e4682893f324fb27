/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "live/trace_points.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>

#include "live/shot_window.h"

enum sh_status sh_trace_points_open(size_t n_pieces, struct sh_trace_points *points)
{
    size_t capacity = 3 * n_pieces + 3;
    double *memory = malloc(3 * capacity * sizeof *memory);
    *points = (struct sh_trace_points){.t_s = memory};
    if (memory == NULL) {
        return SH_ERR_MEMORY;
    }
    points->lo = memory + capacity;
    points->hi = points->lo + capacity;
    points->capacity = capacity;
    return SH_OK;
}

void sh_trace_points_close(struct sh_trace_points *points)
{
    free(points->t_s);
    *points = (struct sh_trace_points){.n = 0};
}

static void add_point(struct sh_trace_points *points, double t_s, double value)
{
    if (points->n < points->capacity) {
        points->t_s[points->n] = t_s;
        points->lo[points->n] = value;
        points->hi[points->n] = value;
        points->n++;
    }
}

static bool is_after_hole(const struct sh_trace_points *points)
{
    return points->n == 0 || !isfinite(points->lo[points->n - 1]);
}

static void add_hole(struct sh_trace_points *points, double t_s)
{
    if (points->n == 0 || isfinite(points->lo[points->n - 1])) {
        add_point(points, t_s, (double)NAN);
    }
}

/* Sample i and value belong to the last point. */
static void widen(struct sh_trace_points *points, double value)
{
    double *lo = &points->lo[points->n - 1];
    double *hi = &points->hi[points->n - 1];
    *lo = value < *lo ? value : *lo;
    *hi = value > *hi ? value : *hi;
}

void sh_trace_points_fill(struct sh_trace_points *points,
                          const struct sh_trace_points_span *span,
                          const struct sh_shot_stream *stream,
                          size_t k,
                          double offset)
{
    double delay_s = stream->stream->channel[k].delay_s;
    double piece_s = (span->until_s - span->from_s) / (double)span->n_pieces;
    struct sh_shot_window_span in = sh_shot_window_find(
        stream, delay_s, span->zero_s + span->from_s, span->zero_s + span->until_s);
    bool is_each = in.n <= span->n_pieces;
    double last = -1.0;
    points->n = 0;
    for (size_t i = in.first; i < in.first + in.n; i++) {
        double t_s = stream->time_s[i] - delay_s - span->zero_s;
        double value = stream->value[k][i] - offset;
        double piece = is_each ? (double)i : floor((t_s - span->from_s) / piece_s);
        if ((stream->flags[i] & SH_SHOT_FLAG_FILLED) != 0) {
            add_hole(points, t_s);
        } else if (piece > last || is_after_hole(points)) {
            add_point(points, is_each ? t_s : span->from_s + (piece + 0.5) * piece_s, value);
            last = piece;
        } else {
            widen(points, value);
        }
    }
}
