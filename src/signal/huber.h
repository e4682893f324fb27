/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SIGNAL_HUBER_H
#define SH_SIGNAL_HUBER_H

#include <stdbool.h>
#include <stddef.h>

#include "base/status.h"

/*
 * Location and straight line by Huber's M-estimator: residuals up to SH_HUBER_K scales count as
 * in least squares, larger ones only with that size (Huber 1964, Ann Math Stat 35:73). Solved
 * by iteratively reweighted least squares from the median (the line: from least squares), the
 * scale being the residuals' median size over 0.6745, worked out anew at each step (Huber 1981,
 * Robust Statistics, 7.8). Wild y do little harm; a wild x does (theil_sen.h bears up to 29 %
 * of both). No heap, any thread. Tests: tests/signal/test_huber.c;
 * tests/reference/test_reference_robust.c against R and GSL, to two digits since programs
 * differ in their scales.
 */

/* 95 % efficiency for normal errors (Huber 1981, 4.5; Holland & Welsch 1977). */
#define SH_HUBER_K 1.345

/* Steps after which the iteration gives up, and change in scales at which it has arrived. */
#define SH_HUBER_STEPS_MAX 200
#define SH_HUBER_CHANGE    1e-10

struct sh_huber_location {
    double value;
    double u;     /* standard error */
    double scale; /* of a single number: what the SD would be without the wild ones */
    size_t n_steps;
    size_t n_limited; /* numbers that count with less than their full weight */
};

/*
 * Location of x[n], n >= 2. work[2 n] is the caller's. Standard error: Huber 1981, eq. 6.5 of
 * chapter 7, K^2 s^2 sum psi^2 / (n - p) / (mean psi')^2 / n with the correction
 * K = 1 + p / n (1 - m) / m, m the share of full weights.
 * Half or more of the numbers alike: scale 0, value theirs, u 0.
 * SH_ERR_SHORT: n < 2. SH_ERR_NOT_FINITE. SH_ERR_SINGULAR: no number has its full weight, or it
 * did not settle. Cost: n a step, a dozen steps as a rule.
 */
enum sh_status sh_huber_find_location(const double *x,
                                      size_t n,
                                      double *work,
                                      struct sh_huber_location *location);

struct sh_huber_line {
    double slope;
    double slope_u;
    double intercept; /* at x = 0 */
    double intercept_u;
    double centre; /* mean of x, where value and slope are uncorrelated but for the weights */
    double value;  /* of the line at centre */
    double value_u;
    double scale; /* of single residuals */
    size_t n_steps;
    size_t n_limited;
};

/*
 * Line of y[n] on x[n], n >= 3. work[2 n] is the caller's. Standard errors as above with p = 2
 * and the inverse of X'X. Half or more of the residuals 0: scale and errors 0. SH_ERR_SHORT: n
 * < 3. SH_ERR_NOT_FINITE. SH_ERR_SINGULAR: all x alike, or as above.
 */
enum sh_status sh_huber_fit_line(
    const double *x, const double *y, size_t n, double *work, struct sh_huber_line *line);

#endif
