/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SIGNAL_RANK_H
#define SH_SIGNAL_RANK_H

#include <stddef.h>

#include "base/status.h"

/*
 * Ranks, and how far two lists rise together whatever the shape. No heap, any thread.
 * SH_ERR_NOT_FINITE: a number. Tests: tests/signal/test_rank.c;
 * tests/reference/test_reference_ranks.c against SciPy.
 */

/*
 * Ranks 1 .. n of x[n]; alike numbers share the mean of their ranks. order[n] is the caller's
 * workspace and holds the places of x from the smallest on afterwards. rank[n] is not x.
 * SH_ERR_SHORT: n = 0. Cost: O(n log n).
 */
enum sh_status sh_rank_make(const double *x, size_t n, size_t *order, double *rank);

/* A coefficient of correlation between lists. */
struct sh_rank_correlation {
    double value; /* -1 .. 1 */
    double lo;    /* limits at the level asked */
    double hi;
    double
        p; /* two-sided, of one as large where the lists have nothing to do with each other */
};

/* Two lists, [n] each. Borrows. */
struct sh_rank_pairs {
    const double *x;
    const double *y;
    size_t n; /* 4 or more */
};

/* Workspace of the caller, [n] each. */
struct sh_rank_work {
    size_t *order;
    double *rank_x;
    double *rank_y;
};

/*
 * Spearman's coefficient: the correlation of the ranks. p by Student's law with n - 2 degrees
 * of freedom (Kendall & Stuart 1973, 31.19; rough under ten pairs). Limits by Fisher's z with
 * variance (1 + r^2 / 2) / (n - 3) (Bonett & Wright 2000, Psychometrika 65:23).
 * level: 0 .. 1, e.g. 0.95. SH_ERR_ARGUMENT: level. SH_ERR_SHORT: n < 4. SH_ERR_SINGULAR: all
 * of a list are alike. Cost: O(n log n).
 */
enum sh_status sh_rank_get_spearman(const struct sh_rank_pairs *pairs,
                                    double level,
                                    const struct sh_rank_work *work,
                                    struct sh_rank_correlation *correlation);

/*
 * Kendall's tau-b: concordant less discordant pairs, ties allowed for. p by the normal law with
 * the variance for ties (Kendall 1970, Rank Correlation Methods, 4.4-4.7). Limits by Fisher's z
 * with variance 0.437 / (n - 4) (Fieller, Hartley & Pearson 1957, Biometrika 44:470; good to
 * |tau| 0.8). n >= 5. Statuses as above. Cost: n^2.
 */
enum sh_status sh_rank_get_kendall(const struct sh_rank_pairs *pairs,
                                   double level,
                                   const struct sh_rank_work *work,
                                   struct sh_rank_correlation *correlation);

#endif
