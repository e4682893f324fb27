/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SIGNAL_ORDINAL_H
#define SH_SIGNAL_ORDINAL_H

#include <stddef.h>

#include "base/status.h"

/*
 * What goes with an ordered level (a score) by the proportional-odds model of McCullagh 1980 (J
 * R Stat Soc B 42:109): log odds of level k or below = cut[k] - slope . x. By maximum
 * likelihood; the likelihood is log-concave (Pratt 1981, J Am Stat Assoc 76:103), so Newton's
 * steps, halved where they do not climb, find its one peak. No heap, any thread. Tests:
 * tests/signal/test_ordinal.c; tests/reference/test_reference_ordinal.c.
 */

#define SH_ORDINAL_COLUMNS_MAX 8
#define SH_ORDINAL_LEVELS_MAX  16

/* Rows. Borrows. */
struct sh_ordinal_rows {
    const double *x;     /* [n][n_columns] */
    const size_t *level; /* [n], 0 (the lowest) to n_levels - 1 */
    size_t n;
    size_t n_columns; /* 1 .. SH_ORDINAL_COLUMNS_MAX */
    size_t n_levels;  /* 2 .. SH_ORDINAL_LEVELS_MAX, each with a row */
};

struct sh_ordinal {
    double slope[SH_ORDINAL_COLUMNS_MAX]; /* of the log odds of a higher level, per unit of x */
    double u[SH_ORDINAL_COLUMNS_MAX];     /* standard errors, by the observed information */
    double p[SH_ORDINAL_COLUMNS_MAX];     /* two-sided, of a slope as large by chance (Wald) */
    double sd[SH_ORDINAL_COLUMNS_MAX];    /* of the column */
    double cut[SH_ORDINAL_LEVELS_MAX - 1];
    double log_likelihood;
};

/*
 * Fits. SH_ERR_ARGUMENT: a number of columns or levels, a level out of range. SH_ERR_SHORT:
 * no more rows than terms, or a level without a row. SH_ERR_NOT_FINITE: an x. SH_ERR_SINGULAR:
 * a column is constant or a combination of others, or the columns part the levels so well that
 * the likelihood has no peak. Cost: some 10 n (n_columns + n_levels)^2.
 */
enum sh_status sh_ordinal_fit(const struct sh_ordinal_rows *rows, struct sh_ordinal *fit);

#endif
