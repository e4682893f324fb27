/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SIGNAL_THEIL_SEN_H
#define SH_SIGNAL_THEIL_SEN_H

#include <stddef.h>

#include "base/status.h"

/* The most points: their slopes take 16 MiB. */
#define SH_THEIL_SEN_MAX 2048

/* Numbers of workspace for n points. */
#define SH_THEIL_SEN_WORK(n) ((n) * ((n)-1) / 2 + (n))

/* A straight line through points of which up to 29 % may be wild. */
struct sh_theil_sen {
    double slope;    /* y a unit of x */
    double slope_lo; /* limits of the slope at the level asked */
    double slope_hi;
    double intercept; /* median(y) - slope median(x) */
};

/*
 * Theil-Sen line of y[n] on x[n]: the median of the slopes of all pairs with different x, with
 * the limits of Sen 1968, J Am Stat Assoc 63:1379 (Kendall's variance, ties allowed for).
 * n: 2 .. SH_THEIL_SEN_MAX. level: 0 < level < 1, e.g. 0.95. work[SH_THEIL_SEN_WORK(n)] is the
 * caller's. The limits are ranks among the pairs: with few points they are the outermost
 * slopes and cover less than the level says.
 * SH_ERR_ARGUMENT: level, or n too large. SH_ERR_SHORT: n < 2. SH_ERR_NOT_FINITE: a point or a
 * slope. SH_ERR_SINGULAR: all x alike. Cost: O(n^2) on average. Threads: any.
 * Test: tests/signal/test_theil_sen.c, against SciPy.
 */
enum sh_status sh_theil_sen_fit(const double *x,
                                const double *y,
                                size_t n,
                                double level,
                                double *work,
                                struct sh_theil_sen *line);

#endif
