/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/control_chart.h"

#include <math.h>
#include <stdbool.h>

#include "signal/finite.h"
#include "signal/stats.h"

static bool is_lambda(double lambda)
{
    return lambda > 0.0 && lambda <= 1.0;
}

enum sh_status
sh_control_chart_get_individuals(const double *x, size_t n, struct sh_control_chart *chart)
{
    if (n < 2) {
        return SH_ERR_SHORT;
    }
    double centre = 0.0;
    enum sh_status status = sh_stats_get_mean(x, n, &centre, NULL);
    if (status != SH_OK) {
        return status;
    }
    double ranges = 0.0;
    for (size_t i = 1; i < n; i++) {
        ranges += fabs(x[i] - x[i - 1]);
    }
    if (!isfinite(ranges)) {
        return SH_ERR_NOT_FINITE;
    }
    const double sigma = ranges / (double)(n - 1) / SH_CONTROL_CHART_D2;
    *chart =
        (struct sh_control_chart){centre, sigma, centre - 3.0 * sigma, centre + 3.0 * sigma};
    return SH_OK;
}

enum sh_status
sh_control_chart_average(const double *x, size_t n, double lambda, double target, double *y)
{
    if (!is_lambda(lambda)) {
        return SH_ERR_ARGUMENT;
    }
    if (!isfinite(target) || !sh_finite_is_all(x, n)) {
        return SH_ERR_NOT_FINITE;
    }
    double average = target;
    for (size_t i = 0; i < n; i++) {
        average = lambda * x[i] + (1.0 - lambda) * average;
        y[i] = average;
    }
    return SH_OK;
}

enum sh_status sh_control_chart_get_average_limits(
    double target, double sigma, double lambda, double width, struct sh_control_chart *chart)
{
    if (!isfinite(target) || !isfinite(sigma) || !isfinite(width)) {
        return SH_ERR_NOT_FINITE;
    }
    if (!is_lambda(lambda) || sigma < 0.0 || width < 0.0) {
        return SH_ERR_ARGUMENT;
    }
    const double off = width * sigma * sqrt(lambda / (2.0 - lambda));
    *chart = (struct sh_control_chart){target, sigma, target - off, target + off};
    return SH_OK;
}
