/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/theil_sen.h"

#include <math.h>
#include <string.h>

#include "signal/distribution.h"
#include "signal/finite.h"
#include "signal/stats.h"

/* Slopes of the first point to those behind it with a different x; their number. */
static size_t collect_from(const double *x, const double *y, size_t n, double *slopes)
{
    size_t n_slopes = 0;
    for (size_t k = 1; k < n; k++) {
        const double dx = x[k] - x[0];
        if (fabs(dx) > 0.0) {
            slopes[n_slopes++] = (y[k] - y[0]) / dx;
        }
    }
    return n_slopes;
}

/* Slopes of all pairs with different x into slopes; their number. */
static size_t collect_slopes(const double *x, const double *y, size_t n, double *slopes)
{
    size_t n_slopes = 0;
    for (size_t i = 0; i < n; i++) {
        n_slopes += collect_from(x + i, y + i, n - i, slopes + n_slopes);
    }
    return n_slopes;
}

static double weigh_ties(double k)
{
    return k * (k - 1.0) * (2.0 * k + 5.0);
}

/* Sum of k (k - 1) (2 k + 5) over the groups of k alike in values[n]; work[n]. */
static double sum_ties(const double *values, size_t n, double *work)
{
    memcpy(work, values, n * sizeof(values[0]));
    sh_stats_sort(work, n);
    double sum = 0.0;
    size_t n_alike = 1;
    for (size_t i = 1; i <= n; i++) {
        if (i < n && !(work[i] > work[i - 1])) {
            n_alike++;
            continue;
        }
        sum += weigh_ties((double)n_alike);
        n_alike = 1;
    }
    return sum;
}

/* Limits at the ranks (n_slopes -+ width) / 2, counted from 1. */
static void
find_limits(double *slopes, size_t n_slopes, double width, struct sh_theil_sen *line)
{
    const double n = (double)n_slopes;
    const double upper = fmin(nearbyint(0.5 * (n + width)), n - 1.0);
    const double lower = fmax(nearbyint(0.5 * (n - width)) - 1.0, 0.0);
    line->slope_lo = sh_stats_select(slopes, n_slopes, (size_t)lower);
    line->slope_hi = sh_stats_select(slopes, n_slopes, (size_t)upper);
}

enum sh_status sh_theil_sen_fit(const double *x,
                                const double *y,
                                size_t n,
                                double level,
                                double *work,
                                struct sh_theil_sen *line)
{
    if (!(level > 0.0 && level < 1.0) || n > SH_THEIL_SEN_MAX) {
        return SH_ERR_ARGUMENT;
    }
    if (n < 2) {
        return SH_ERR_SHORT;
    }
    if (!sh_finite_is_all(x, n) || !sh_finite_is_all(y, n)) {
        return SH_ERR_NOT_FINITE;
    }
    double *slopes = work + n;
    const size_t n_slopes = collect_slopes(x, y, n, slopes);
    if (n_slopes == 0) {
        return SH_ERR_SINGULAR;
    }
    if (!sh_finite_is_all(slopes, n_slopes)) {
        return SH_ERR_NOT_FINITE;
    }
    const double ties = sum_ties(x, n, work) + sum_ties(y, n, work);
    const double variance = fmax((weigh_ties((double)n) - ties) / 18.0, 0.0);
    const double z = sh_distribution_get_normal_quantile(0.5 * (1.0 + level));
    struct sh_theil_sen got = {.slope = sh_stats_select_median(slopes, n_slopes)};
    find_limits(slopes, n_slopes, z * sqrt(variance), &got);
    memcpy(work, x, n * sizeof(x[0]));
    const double middle_x = sh_stats_select_median(work, n);
    memcpy(work, y, n * sizeof(y[0]));
    got.intercept = sh_stats_select_median(work, n) - got.slope * middle_x;
    *line = got;
    return SH_OK;
}
