/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/anova.h"

#include <math.h>

#include "signal/distribution.h"
#include "signal/finite.h"

static enum sh_status check_groups(const struct sh_anova_groups *g)
{
    if (g->n_groups < 2) {
        return SH_ERR_SHORT;
    }
    for (size_t i = 0; i < g->n_groups; i++) {
        if (g->first[i] >= g->first[i + 1]) {
            return SH_ERR_ARGUMENT;
        }
    }
    const size_t n = g->first[g->n_groups] - g->first[0];
    if (n == g->n_groups) {
        return SH_ERR_SHORT;
    }
    return sh_finite_is_all(g->x + g->first[0], n) ? SH_OK : SH_ERR_NOT_FINITE;
}

/* Mean of x[n] about origin, in two passes. */
static double get_mean_from(const double *x, size_t n, double origin)
{
    double sum = 0.0;
    for (size_t i = 0; i < n; i++) {
        sum += x[i] - origin;
    }
    const double rough = sum / (double)n;
    double rest = 0.0;
    for (size_t i = 0; i < n; i++) {
        rest += (x[i] - origin) - rough;
    }
    return rough + rest / (double)n;
}

/* Squares of x[n] about origin + mean. */
static double sum_squares(const double *x, size_t n, double origin, double mean)
{
    double squares = 0.0;
    double rest = 0.0;
    for (size_t i = 0; i < n; i++) {
        const double d = (x[i] - origin) - mean;
        squares += d * d;
        rest += d;
    }
    return fmax(squares - rest * rest / (double)n, 0.0);
}

static void finish(size_t n, double sum_sizes2, struct sh_anova *a)
{
    const double between = a->between_squares / (double)a->between_freedom;
    const double within = a->within_squares / (double)a->within_freedom;
    a->within_sd = sqrt(within);
    a->f = between / within;
    a->p = sh_distribution_get_f_upper(a->f, (double)a->between_freedom,
                                       (double)a->within_freedom);
    a->r_squared = a->between_squares / (a->between_squares + a->within_squares);
    a->group_size = ((double)n - sum_sizes2 / (double)n) / (double)a->between_freedom;
    a->between_variance = fmax(between - within, 0.0) / a->group_size;
    a->is_cut = between < within;
}

enum sh_status sh_anova_get(const struct sh_anova_groups *groups, struct sh_anova *anova)
{
    const struct sh_anova_groups *g = groups;
    enum sh_status status = check_groups(g);
    if (status != SH_OK) {
        return status;
    }
    const double *all = g->x + g->first[0];
    const size_t n = g->first[g->n_groups] - g->first[0];
    const double origin = all[0];
    const double mean = get_mean_from(all, n, origin);
    struct sh_anova got = {.mean = origin + mean,
                           .between_freedom = g->n_groups - 1,
                           .within_freedom = n - g->n_groups};
    double sum_sizes2 = 0.0;
    for (size_t i = 0; i < g->n_groups; i++) {
        const double *x = g->x + g->first[i];
        const size_t size = g->first[i + 1] - g->first[i];
        const double group_mean = get_mean_from(x, size, origin);
        const double off = group_mean - mean;
        got.between_squares += (double)size * off * off;
        got.within_squares += sum_squares(x, size, origin, group_mean);
        sum_sizes2 += (double)size * (double)size;
    }
    if (!isfinite(got.between_squares) || !isfinite(got.within_squares)) {
        return SH_ERR_NOT_FINITE;
    }
    if (!(got.within_squares > 0.0)) {
        return SH_ERR_SINGULAR;
    }
    finish(n, sum_sizes2, &got);
    if (!isfinite(got.f)) {
        return SH_ERR_SINGULAR;
    }
    *anova = got;
    return SH_OK;
}
