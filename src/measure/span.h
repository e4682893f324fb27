/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_MEASURE_SPAN_H
#define SH_MEASURE_SPAN_H

#include <stdbool.h>
#include <stddef.h>

#include "base/quantity.h"
#include "shot/shot.h"

/*
 * The samples of a stream that lie in a window of time, or why they cannot be used.
 */
struct sh_span {
    size_t first;
    size_t n;
    enum sh_why why; /* SH_WHY_KNOWN: first .. first + n - 1 can be used, n at least 1 */
};

/*
 * Finds the samples with from_s <= t < until_s, t being a sample's time less delay_s (a
 * millionth of a sample is let pass, for times that are meant to fall on a sample). Reasons:
 * SH_WHY_TOO_SHORT: the window is empty or reaches beyond the samples there are;
 * SH_WHY_TOO_SLOW: it falls between two samples; SH_WHY_GAP, SH_WHY_CLIPPED: a sample in it
 * stands for a lost one, or some channel of its frame reached its range.
 * Cost: O(log frames + n). Any thread. Test: tests/measure/test_span.c.
 */
struct sh_span sh_span_find(const struct sh_shot_stream *stream,
                            double delay_s,
                            double from_s,
                            double until_s);

/*
 * SH_WHY_KNOWN where none of flags[n] tells of a lost sample or a reached range, else
 * SH_WHY_GAP (also where both) or SH_WHY_CLIPPED.
 */
enum sh_why sh_span_check(const unsigned char *flags, size_t n);

static inline bool sh_span_is_usable(const struct sh_span *span)
{
    return span->why == SH_WHY_KNOWN;
}

#endif
