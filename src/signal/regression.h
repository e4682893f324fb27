/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SIGNAL_REGRESSION_H
#define SH_SIGNAL_REGRESSION_H

#include <stdbool.h>
#include <stddef.h>

#include "base/status.h"

/*
 * One quantity on several others by least squares, with a constant: what the clock does to the
 * hold once the number of the arrow is allowed for, say. Columns are taken off their means and
 * put to length 1, then Householder QR (Golub & Van Loan 2013, 5.2), refined once. No heap, any
 * thread. Tests: tests/signal/test_regression.c; tests/reference/test_reference_sets.c.
 */

#define SH_REGRESSION_COLUMNS_MAX 12
#define SH_REGRESSION_TERMS_MAX   (SH_REGRESSION_COLUMNS_MAX + 1)

/* Numbers of workspace for n rows of so many columns. */
#define SH_REGRESSION_WORK(n, columns) ((n) * (2 * (columns) + 1))

/* Rows. Borrows. */
struct sh_regression_rows {
    const double *x; /* [n][n_columns] */
    const double *y; /* [n] */
    size_t n;
    size_t n_columns; /* 1 .. SH_REGRESSION_COLUMNS_MAX */
};

/* Term 0 is the constant, term k column k - 1. */
struct sh_regression {
    size_t n_terms;
    size_t freedom; /* n - n_terms */
    double coefficient[SH_REGRESSION_TERMS_MAX];
    double u[SH_REGRESSION_TERMS_MAX]; /* standard errors; 0 where freedom is 0 */
    double p[SH_REGRESSION_TERMS_MAX]; /* two-sided, of a coefficient as large by chance */
    /* variance inflation: how much the other columns widen u^2 of this one; [0] is 1 */
    double inflation[SH_REGRESSION_TERMS_MAX];
    double residual_squares;
    double residual_sd;
    double r_squared; /* share of y's squares about its mean */
};

/*
 * Fits. work[SH_REGRESSION_WORK(n, n_columns)] is the caller's.
 * SH_ERR_ARGUMENT: number of columns. SH_ERR_SHORT: fewer rows than terms. SH_ERR_NOT_FINITE:
 * an input or a result. SH_ERR_SINGULAR: a column is constant or a combination of others. Cost:
 * n n_columns^2.
 */
enum sh_status sh_regression_solve(const struct sh_regression_rows *rows,
                                   double *work,
                                   struct sh_regression *regression);

#endif
