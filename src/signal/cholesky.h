/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SIGNAL_CHOLESKY_H
#define SH_SIGNAL_CHOLESKY_H

#include <stddef.h>

#include "base/status.h"

/*
 * Small symmetric positive definite systems, [n][n] row by row, in place. Any thread, no heap.
 * Test: tests/signal/test_cholesky.c.
 */

/*
 * Replaces the lower triangle of a by L with a = L L^T; the upper triangle is not looked at.
 * SH_ERR_SINGULAR: a pivot falls to 1e-14 of its diagonal element or below (or is not a
 * number); a is spoilt then. Cost: n^3 / 6.
 */
enum sh_status sh_cholesky_factor(double *a, size_t n);

/*
 * Adds one row of a least-squares problem to its normal equations: the lower triangle of
 * normal[n][n] += row row^T, right[n] += row y. Cost: n^2 / 2.
 */
void sh_cholesky_add_row(const double *row, double y, size_t n, double *normal, double *right);

/* Solves L L^T x = b in place of b[n], l from sh_cholesky_factor. Cost: n^2. */
void sh_cholesky_solve(const double *l, size_t n, double *b);

/*
 * Diagonal and rest of the inverse of L L^T into inverse [n][n], not the same array as l.
 * Cost: n^3.
 */
void sh_cholesky_invert(const double *l, size_t n, double *inverse);

#endif
