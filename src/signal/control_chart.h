/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SIGNAL_CONTROL_CHART_H
#define SH_SIGNAL_CONTROL_CHART_H

#include <stddef.h>

#include "base/status.h"

/*
 * Control charts of single values in their order. No heap, any thread.
 * Tests: tests/signal/test_control_chart.c, with the examples of the NIST/SEMATECH e-Handbook.
 */

/* Mean range of two normal values over their standard deviation, as tables print it. */
#define SH_CONTROL_CHART_D2 1.128

struct sh_control_chart {
    double centre;
    double sigma; /* of single values */
    double lower;
    double upper;
};

/*
 * Individuals chart of x[n]: centre is the mean, sigma the mean |x[i] - x[i - 1]| over
 * SH_CONTROL_CHART_D2, limits three sigma off (NIST/SEMATECH e-Handbook 6.3.2.2). A steady
 * normal series passes a limit with 0.27 % of its values; values that depend on each other or
 * are skewed do so more often. SH_ERR_SHORT: n < 2. SH_ERR_NOT_FINITE. Cost: O(n).
 */
enum sh_status
sh_control_chart_get_individuals(const double *x, size_t n, struct sh_control_chart *chart);

/*
 * Exponentially weighted moving average y[i] = lambda x[i] + (1 - lambda) y[i - 1], begun at
 * target (Roberts 1959; e-Handbook 6.3.2.4). x and y [n] may be the same array.
 * 0 < lambda <= 1. SH_ERR_ARGUMENT: lambda. SH_ERR_NOT_FINITE: x or target. Cost: O(n).
 */
enum sh_status
sh_control_chart_average(const double *x, size_t n, double lambda, double target, double *y);

/*
 * Limits of that average: width sigma sqrt(lambda / (2 - lambda)) from target, the value for a
 * long series; width is 3 as a rule. SH_ERR_ARGUMENT: lambda, sigma or width below 0.
 * SH_ERR_NOT_FINITE.
 */
enum sh_status sh_control_chart_get_average_limits(
    double target, double sigma, double lambda, double width, struct sh_control_chart *chart);

#endif
