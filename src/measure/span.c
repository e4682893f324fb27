/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "measure/span.h"

#include <math.h>

#define INDEX_SLACK 1e-6 /* samples: rounding of times, far below any clock's uncertainty */

enum sh_why sh_span_check(const unsigned char *flags, size_t n)
{
    unsigned seen = 0;
    for (size_t i = 0; i < n; i++) {
        seen |= flags[i];
    }
    if ((seen & SH_SHOT_FLAG_FILLED) != 0) {
        return SH_WHY_GAP;
    }
    return (seen & SH_SHOT_FLAG_CLIPPED) != 0 ? SH_WHY_CLIPPED : SH_WHY_KNOWN;
}

struct sh_span
sh_span_find(const struct sh_shot_stream *stream, double delay_s, double from_s, double until_s)
{
    struct sh_span span = {.why = SH_WHY_TOO_SHORT};
    if (stream->n_frames == 0 || !(from_s < until_s)) {
        return span;
    }
    double first = ceil(sh_shot_stream_index(stream, delay_s, from_s) - INDEX_SLACK);
    double end = ceil(sh_shot_stream_index(stream, delay_s, until_s) - INDEX_SLACK);
    if (first < 0.0 || end > (double)stream->n_frames) {
        return span;
    }
    if (!(first < end)) {
        span.why = SH_WHY_TOO_SLOW;
        return span;
    }
    span.first = (size_t)first;
    span.n = (size_t)(end - first);
    span.why = sh_span_check(stream->flags + span.first, span.n);
    return span;
}
