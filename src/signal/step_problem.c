/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/step_problem.h"

#include <math.h>

#include "base/units.h"
#include "signal/finite.h"

#define LEVELS_MAX SH_STEP_PROBLEM_LEVELS_MAX

static bool is_positive(double value)
{
    return value > 0.0 && isfinite(value);
}

static bool is_not_negative(double value)
{
    return value >= 0.0 && isfinite(value);
}

static bool is_config_fine(const struct sh_step_fit_config *c)
{
    bool is_duration = is_positive(c->duration_min_s) && is_positive(c->duration_max_s) &&
                       c->duration_max_s > c->duration_min_s;
    return is_duration && is_positive(c->rate_hz) && is_not_negative(c->boxcar_s) &&
           c->fraction > 0.0 && c->fraction < 1.0 && is_not_negative(c->noise);
}

static void fill_sums(struct sh_step_problem *p)
{
    struct sh_step_sums *sums = &p->sums;
    sums->before_centre = p->x[0];
    sums->after_centre = p->x[p->n - 1];
    sums->before[0] = 0.0;
    sums->before_square[0] = 0.0;
    sums->before_moment[0] = 0.0;
    for (size_t i = 0; i < p->n; i++) {
        double y = p->x[i] - sums->before_centre;
        sums->before[i + 1] = sums->before[i] + y;
        sums->before_square[i + 1] = sums->before_square[i] + y * y;
        sums->before_moment[i + 1] = sums->before_moment[i] + (double)i * y;
    }
    sums->after[p->n] = 0.0;
    sums->after_square[p->n] = 0.0;
    for (size_t i = p->n; i-- > 0;) {
        double y = p->x[i] - sums->after_centre;
        sums->after[i] = sums->after[i + 1] + y;
        sums->after_square[i] = sums->after_square[i + 1] + y * y;
    }
}

enum sh_status sh_step_problem_init(struct sh_step_problem *problem,
                                    const struct sh_step_fit_config *config,
                                    const double *x,
                                    size_t n)
{
    if (!is_config_fine(config)) {
        return SH_ERR_ARGUMENT;
    }
    if (n < SH_STEP_FIT_SAMPLES_MIN) {
        return SH_ERR_SHORT;
    }
    if (!sh_finite_is_all(x, n)) {
        return SH_ERR_NOT_FINITE;
    }
    problem->config = config;
    problem->x = x;
    problem->n = n;
    problem->n_levels = config->has_slope ? 3 : 2;
    problem->start_min_s = fmax(config->start_min_s, 0.0);
    problem->start_max_s = fmin(config->start_max_s, (double)(n - 1) / config->rate_hz);
    if (!(problem->start_max_s > problem->start_min_s)) {
        return SH_ERR_ARGUMENT;
    }
    problem->x_mean = 0.0;
    for (size_t i = 0; i < n; i++) {
        problem->x_mean += x[i] / (double)n;
    }
    double square = 0.0;
    for (size_t i = 0; i < n; i++) {
        square += (x[i] - problem->x_mean) * (x[i] - problem->x_mean) / (double)n;
    }
    problem->x_spread = sqrt(square);
    problem->has_sums = n <= SH_STEP_PROBLEM_SUMS_MAX;
    if (problem->has_sums) {
        fill_sums(problem);
    }
    return SH_OK;
}

/* Integral of the ramp (0 before 0, 1 after 1) up to u. */
static double integrate_ramp(double u)
{
    if (u <= 0.0) {
        return 0.0;
    }
    if (u >= 1.0) {
        return u - 0.5;
    }
    return 0.5 * u - sin(SH_PI * u) / (2.0 * SH_PI);
}

double sh_step_problem_get_progress(const struct sh_step_problem *problem,
                                    const struct sh_step_trial *trial,
                                    double t_s)
{
    double u = (t_s - trial->start_s) / trial->duration_s;
    double width = problem->config->boxcar_s / trial->duration_s;
    if (u <= 0.0) {
        return 0.0;
    }
    if (u - width >= 1.0) {
        return 1.0;
    }
    if (width > 0.0) {
        return (integrate_ramp(u) - integrate_ramp(u - width)) / width;
    }
    return 0.5 * (1.0 - cos(SH_PI * u));
}

void sh_step_problem_get_basis(const struct sh_step_problem *problem,
                               const struct sh_step_trial *trial,
                               size_t i,
                               double *basis)
{
    double t_s = (double)i / problem->config->rate_hz;
    sh_step_problem_set_basis(sh_step_problem_get_progress(problem, trial, t_s),
                              t_s - trial->start_s, basis);
}

double sh_step_problem_get_residual(const struct sh_step_problem *problem,
                                    const struct sh_step_trial *trial,
                                    size_t i)
{
    double basis[LEVELS_MAX] = {0.0};
    sh_step_problem_get_basis(problem, trial, i, basis);
    return sh_step_problem_get_rest(problem, trial, i, basis);
}

double sh_step_problem_get_quantile(const struct sh_step_problem *problem)
{
    return acos(1.0 - 2.0 * problem->config->fraction) / SH_PI;
}
