/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_METROLOGY_RESPONSE_CURVE_H
#define SH_METROLOGY_RESPONSE_CURVE_H

#include <stddef.h>

#include "base/status.h"

/*
 * How a thin force sensor answers: nothing up to a force it needs to wake (the dead zone), then
 * ever less for the same further force. Both kinds are monotone everywhere:
 *
 *     power       counts = zero + gain (F - start)^shape
 *     saturating  counts = zero + gain (F - start) / (shape + F - start)
 *
 * above start, counts = zero below. The second is what a sensor whose conductance grows with
 * the force gives in a voltage divider; zero + gain is then where it ends.
 *
 * Non-linear least squares, equal weights: for each start and shape zero and gain follow from a
 * straight line (variable projection, Golub & Pereyra 1973, SIAM J. Numer. Anal. 10:413), start
 * and shape by Levenberg-Marquardt (MINPACK's lmdif) from the best of a grid; covariance from
 * the Jacobian of all four. Tests: tests/metrology/test_response_curve.c and, against real
 * sensors, tests/metrology/test_open_data_force.c.
 */

enum sh_response_curve_kind { SH_RESPONSE_CURVE_POWER, SH_RESPONSE_CURVE_SATURATING };

#define SH_RESPONSE_CURVE_TERMS      4u
#define SH_RESPONSE_CURVE_POINTS_MAX 256u

struct sh_response_curve {
    enum sh_response_curve_kind kind;
    double zero_counts;
    double gain; /* power: counts per N^shape; saturating: counts */
    double start_n;
    double shape; /* power: 1; saturating: N */
    /* of zero, gain, start and shape in this order */
    double covariance[SH_RESPONSE_CURVE_TERMS][SH_RESPONSE_CURVE_TERMS];
    size_t freedom;
    double residual_squares;
    double residual_sd_counts;
    double force_max_n; /* of the points */
};

/*
 * Fits n points (5 to SH_RESPONSE_CURVE_POINTS_MAX). SH_ERR_ARGUMENT: n too large, a force
 * below 0. SH_ERR_SHORT: fewer than 5 points. SH_ERR_NOT_FINITE. SH_ERR_SINGULAR: the points do
 * not determine the curve (all forces or counts the same, or a shape that any value would fit).
 * About 2 ms for 50 points. Any thread, no heap.
 */
enum sh_status sh_response_curve_solve(enum sh_response_curve_kind kind,
                                       const double *force_n,
                                       const double *counts,
                                       size_t n,
                                       struct sh_response_curve *curve);

/* Counts at a force, and their standard uncertainty from the fit alone (u may be NULL). */
double sh_response_curve_get_counts(const struct sh_response_curve *curve,
                                    double force_n,
                                    double *u_counts);

/*
 * The force at a count: 0 on the unloaded side of zero, start at zero itself; beyond
 * force_max_n along the slope that the curve has there.
 */
double sh_response_curve_get_force(const struct sh_response_curve *curve, double counts);

/* Slope at a force above start, counts per N; 0 below. */
double sh_response_curve_get_slope(const struct sh_response_curve *curve, double force_n);

#endif
