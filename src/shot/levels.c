/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shot/levels.h"

#include <math.h>

#include "signal/stats.h"

/* First frame at or after a time, 0 to n_frames. */
static size_t find_frame(const struct sh_shot_stream *stream, double time_s)
{
    const double index = ceil(sh_shot_stream_index(stream, 0.0, time_s));
    return (size_t)fmin(fmax(index, 0.0), (double)stream->n_frames);
}

/* The level after the draw; false where there is not enough of it, or it is not even. */
static bool find_after(const struct sh_shot_stream *stream,
                       const double *value,
                       const struct sh_levels_span *span,
                       double *work,
                       double *after_n)
{
    const double last_s = fmin(span->until_s, span->fall_s + SH_LEVELS_AFTER_MAX_S);
    const size_t first = find_frame(stream, span->fall_s + SH_LEVELS_AFTER_MIN_S);
    const size_t end = find_frame(stream, last_s);
    const double needed = SH_LEVELS_AFTER_MIN_S * stream->stream->rate_hz;
    double *kept = work + stream->n_frames;
    size_t n = 0;
    for (size_t i = first; i < end; i++) {
        if ((stream->flags[i] & SH_SHOT_FLAG_FILLED) == 0) {
            kept[n++] = value[i];
        }
    }
    double spread_n = 0.0;
    if ((double)n < needed || sh_stats_get_median(kept, n, work, after_n, &spread_n) != SH_OK) {
        return false;
    }
    return SH_STATS_MAD_TO_SD * spread_n <= 2.0 * SH_REST_TOLERANCE_N;
}

void sh_levels_find(const struct sh_shot_stream *stream,
                    const double *value,
                    double resolution_n,
                    const struct sh_levels_span *span,
                    double *work,
                    struct sh_rest_level *out)
{
    struct sh_rest rest;
    double after_n = 0.0;
    const size_t low = find_frame(stream, span->low_s);
    sh_rest_init(&rest, stream->stream->rate_hz, resolution_n, 0);
    size_t i = 0;
    for (size_t k = 0; k <= span->n_skips; k++) {
        const bool is_last = k == span->n_skips;
        const size_t from = is_last ? low : find_frame(stream, span->skip[k].from_s);
        const size_t until = is_last ? low : find_frame(stream, span->skip[k].until_s);
        for (; i < from && i < low; i++) {
            sh_rest_push(&rest, value[i], (stream->flags[i] & SH_SHOT_FLAG_FILLED) != 0);
        }
        for (; i < until && i < low; i++) {
            sh_rest_push(&rest, value[i], true);
        }
    }
    const bool has_after = span->has_after && find_after(stream, value, span, work, &after_n);
    sh_rest_choose(&rest, low, has_after ? &after_n : NULL, out);
}
