/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SIGNAL_LINE_FIT_H
#define SH_SIGNAL_LINE_FIT_H

#include <stdbool.h>
#include <stddef.h>

#include "base/status.h"

/*
 * Straight lines and polynomials by least squares: Householder QR (Golub & Van Loan 2013, 5.2),
 * refined once, in powers of x shifted and scaled to -1 .. 1, then turned into powers of x. No
 * heap, any thread. Tests: tests/signal/test_line_fit.c and
 * tests/reference/test_reference_line_fit.c (NIST StRD).
 */

#define SH_LINE_FIT_DEGREE_MAX 10
#define SH_LINE_FIT_TERMS_MAX  (SH_LINE_FIT_DEGREE_MAX + 1)

/* Numbers of workspace for n points and a degree. */
#define SH_LINE_FIT_WORK(n, degree) ((n) * ((degree) + 2))

/* Above this condition the coefficients hold fewer than about nine digits. */
#define SH_LINE_FIT_CONDITION_MAX 1e7

/* Points to be fitted. Borrows all arrays. */
struct sh_line_fit_points {
    const double *x;      /* [n] */
    const double *y;      /* [n] */
    const double *weight; /* [n], above 0, as 1 / variance; NULL: all 1 */
    size_t n;
    size_t degree;     /* 0 .. SH_LINE_FIT_DEGREE_MAX */
    bool through_zero; /* no constant term; degree at least 1 */
};

struct sh_line_fit {
    size_t n_terms;                            /* degree + 1; through zero too, first 0 then */
    size_t freedom;                            /* n less the terms that were fitted */
    double coefficient[SH_LINE_FIT_TERMS_MAX]; /* of x^k */
    /* of the coefficients, [row][column]; all 0 where freedom is 0 */
    double covariance[SH_LINE_FIT_TERMS_MAX][SH_LINE_FIT_TERMS_MAX];
    double residual_squares; /* weighted sum of squares */
    double residual_sd;      /* of a point of weight 1; 0 where freedom is 0 */
    /* 1 - residual squares / squares about the mean (through zero: about 0) */
    double r_squared;
    /* largest of sd(b_k) |x^k| / residual_sd: the root of the variance inflation factor */
    double condition;
    bool is_ill_conditioned; /* condition above SH_LINE_FIT_CONDITION_MAX */
    /* the same polynomial in u = (x - centre) / half, for values without loss of digits */
    double centre;
    double half;
    double scaled[SH_LINE_FIT_TERMS_MAX];
    double scaled_covariance[SH_LINE_FIT_TERMS_MAX][SH_LINE_FIT_TERMS_MAX];
    double x_min; /* range of the points */
    double x_max;
};

/*
 * Fits. work[SH_LINE_FIT_WORK(n, degree)] is the caller's. SH_ERR_ARGUMENT: degree, weight not
 * above 0. SH_ERR_SHORT: fewer points than terms. SH_ERR_NOT_FINITE: an input or a result.
 * SH_ERR_SINGULAR: too few different x. Cost: n degree^2.
 */
enum sh_status sh_line_fit_solve(const struct sh_line_fit_points *points,
                                 double *work,
                                 struct sh_line_fit *fit);

/* Value of the fit at x and its standard uncertainty from the fit alone (u may be NULL). */
double sh_line_fit_get_value(const struct sh_line_fit *fit, double x, double *u);

/* An F test: variance ratio, degrees of freedom, probability of a larger ratio by chance. */
struct sh_line_fit_test {
    double f;
    size_t freedom1;
    size_t freedom2;
    double p;
};

/*
 * Lack of fit against the scatter of points of the same x (Draper & Smith 1998, 2.1).
 * Unweighted points only: SH_ERR_ARGUMENT. SH_ERR_SHORT: no x came twice, or there are no more
 * different x than terms. SH_ERR_SINGULAR: points of the same x do not scatter. Cost: n^2.
 */
enum sh_status sh_line_fit_test_lack(const struct sh_line_fit_points *points,
                                     const struct sh_line_fit *fit,
                                     struct sh_line_fit_test *test);

/*
 * Is the longer of two fits of the same points the better one? F of the squares that its
 * further terms take away. SH_ERR_ARGUMENT: longer has no more terms. SH_ERR_SHORT: no freedom
 * is left. SH_ERR_SINGULAR: longer leaves no residual.
 */
enum sh_status sh_line_fit_test_terms(const struct sh_line_fit *shorter,
                                      const struct sh_line_fit *longer,
                                      struct sh_line_fit_test *test);

struct sh_line_fit_inverse {
    double x;
    double lo;
    double hi;
};

/*
 * The x at which a single new reading of weight 1 was y, with Fieller's limits: all x whose
 * |y - f(x)| is within t sqrt(residual_sd^2 + u(x)^2), u that of the fit. level: 0 .. 1.
 * Looked for from half a range below the points to half a range above, where the fit has to be
 * monotonic between the ends of the answer. SH_ERR_ARGUMENT: level. SH_ERR_NOT_FINITE: y.
 * SH_ERR_SHORT: no freedom. SH_ERR_NOT_FOUND: x or a limit lies outside.
 */
enum sh_status sh_line_fit_find_x(const struct sh_line_fit *fit,
                                  double y,
                                  double level,
                                  struct sh_line_fit_inverse *inverse);

#endif
