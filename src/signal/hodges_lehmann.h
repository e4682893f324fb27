/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SIGNAL_HODGES_LEHMANN_H
#define SH_SIGNAL_HODGES_LEHMANN_H

#include <stdbool.h>
#include <stddef.h>

#include "base/status.h"

/*
 * How far one list of numbers lies above another, or above nought, with limits that a few wild
 * numbers do not move (Hodges & Lehmann 1963, Ann Math Stat 34:598). No heap, any thread.
 * SH_ERR_ARGUMENT: level, or more numbers than the most. SH_ERR_SHORT: an empty list.
 * SH_ERR_NOT_FINITE: a number, or a difference or sum of two.
 * Tests: tests/signal/test_hodges_lehmann.c; tests/reference/test_reference_ranks.c against R.
 */

/* The most numbers of a list: the pairs of two such take 32 MiB. */
#define SH_HODGES_LEHMANN_MAX 2000

/* Up to so many numbers a list, and without ties, limits are exact. */
#define SH_HODGES_LEHMANN_EXACT 50

/* Numbers of workspace for lists of n and m, and for one list of n. */
#define SH_HODGES_LEHMANN_WORK(n, m)  ((n) * (m) + (n) + (m) + 1)
#define SH_HODGES_LEHMANN_WORK_ONE(n) ((n) * ((n) + 1) / 2 + 1)

/* Two lists. Borrows. */
struct sh_hodges_lehmann_lists {
    const double *x; /* [n] */
    size_t n;
    const double *y; /* [m] */
    size_t m;
};

struct sh_hodges_lehmann {
    double shift; /* unit of the numbers */
    double lo;    /* limits at the level asked */
    double hi;
    /* limits from the exact law of the rank sum; else from its normal approximation */
    bool is_exact;
    /* too few numbers for the level: the outermost limits, which are given, hold less than it
     */
    bool is_short;
};

/*
 * Shift of y over x: the median of all y[k] - x[i]. Limits are order statistics of these
 * differences at ranks of Mann & Whitney's law (Lehmann 1975, Nonparametrics, 2.6): exact, and
 * then holding at least the level, up to SH_HODGES_LEHMANN_EXACT numbers a list where no number
 * comes twice; else by the normal law with the variance for ties and half a rank for
 * continuity. level: 0 .. 1. work[SH_HODGES_LEHMANN_WORK(n, m)] is the caller's. Cost: n m on
 * average; 25 n m more where exact.
 */
enum sh_status sh_hodges_lehmann_get_shift(const struct sh_hodges_lehmann_lists *lists,
                                           double level,
                                           double *work,
                                           struct sh_hodges_lehmann *result);

/*
 * Centre of x[n], paired differences say: the median of the means of all pairs, each number
 * with itself too. Limits are order statistics of these means at ranks of Wilcoxon's
 * signed-rank law (Lehmann 1975, 4.3): exact where no size comes twice and none is 0, else
 * normal, as above. work[SH_HODGES_LEHMANN_WORK_ONE(n)] is the caller's. Cost: n^2 / 2 on
 * average; n^3 / 4 more where exact.
 */
enum sh_status sh_hodges_lehmann_get_centre(
    const double *x, size_t n, double level, double *work, struct sh_hodges_lehmann *result);

#endif
