/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/step_problem.h"

#include <float.h>
#include <math.h>
#include <string.h>

#include "base/units.h"
#include "signal/cholesky.h"
#include "signal/finite.h"

#define LEVELS_MAX    SH_STEP_PROBLEM_LEVELS_MAX
#define GOLDEN_ROUNDS 28
#define GOLDEN        0.6180339887498949 /* (sqrt 5 - 1) / 2 */

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
    struct sh_step_problem p = {
        .config = config, .x = x, .n = n, .n_levels = config->has_slope ? 3 : 2};
    p.start_min_s = fmax(config->start_min_s, 0.0);
    p.start_max_s = fmin(config->start_max_s, (double)(n - 1) / config->rate_hz);
    if (!(p.start_max_s > p.start_min_s)) {
        return SH_ERR_ARGUMENT;
    }
    for (size_t i = 0; i < n; i++) {
        p.x_mean += x[i] / (double)n;
    }
    for (size_t i = 0; i < n; i++) {
        p.x_spread += (x[i] - p.x_mean) * (x[i] - p.x_mean) / (double)n;
    }
    p.x_spread = sqrt(p.x_spread);
    *problem = p;
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
    double progress = sh_step_problem_get_progress(problem, trial, t_s);
    basis[0] = 1.0 - progress;
    basis[1] = progress;
    basis[2] = (t_s - trial->start_s) * (1.0 - progress);
}

void sh_step_problem_fit_levels(const struct sh_step_problem *problem,
                                struct sh_step_trial *trial)
{
    const struct sh_step_problem *p = problem;
    size_t m = p->n_levels;
    double normal[LEVELS_MAX * LEVELS_MAX] = {0.0};
    double right[LEVELS_MAX] = {0.0};
    double basis[LEVELS_MAX] = {0.0};
    for (size_t i = 0; i < p->n; i++) {
        sh_step_problem_get_basis(p, trial, i, basis);
        sh_cholesky_add_row(basis, p->x[i] - p->x_mean, m, normal, right);
    }
    trial->loss = DBL_MAX;
    trial->level[2] = 0.0;
    if (sh_cholesky_factor(normal, m) != SH_OK) {
        return;
    }
    sh_cholesky_solve(normal, m, right);
    memcpy(trial->level, right, m * sizeof(*right));
    double loss = 0.0;
    for (size_t i = 0; i < p->n; i++) {
        double residual = sh_step_problem_get_residual(p, trial, i);
        loss += residual * residual;
    }
    trial->loss = loss;
}

double sh_step_problem_get_residual(const struct sh_step_problem *problem,
                                    const struct sh_step_trial *trial,
                                    size_t i)
{
    double basis[LEVELS_MAX] = {0.0};
    sh_step_problem_get_basis(problem, trial, i, basis);
    double residual = problem->x[i] - problem->x_mean;
    for (size_t a = 0; a < problem->n_levels; a++) {
        residual -= basis[a] * trial->level[a];
    }
    return residual;
}

double sh_step_problem_get_loss(const struct sh_step_problem *problem,
                                double start_s,
                                double duration_s)
{
    struct sh_step_trial trial = {.start_s = start_s, .duration_s = duration_s};
    sh_step_problem_fit_levels(problem, &trial);
    return trial.loss;
}

static double get_coarse_step(const struct sh_step_problem *p, double duration_s)
{
    double rise_s = duration_s + p->config->boxcar_s;
    return 0.25 * fmax(rise_s, 1.0 / p->config->rate_hz);
}

struct sh_step_trial sh_step_problem_find_start(const struct sh_step_problem *problem,
                                                double duration_s)
{
    const struct sh_step_problem *p = problem;
    double step = get_coarse_step(p, duration_s);
    size_t n_steps = (size_t)ceil((p->start_max_s - p->start_min_s) / step);
    step = (p->start_max_s - p->start_min_s) / (double)n_steps;
    struct sh_step_trial best = {
        .start_s = p->start_min_s, .duration_s = duration_s, .loss = DBL_MAX};
    for (size_t i = 0; i <= n_steps; i++) {
        struct sh_step_trial trial = {.start_s = p->start_min_s + (double)i * step,
                                      .duration_s = duration_s};
        sh_step_problem_fit_levels(p, &trial);
        if (trial.loss < best.loss) {
            best = trial;
        }
    }
    double low = fmax(best.start_s - step, p->start_min_s);
    double high = fmin(best.start_s + step, p->start_max_s);
    for (int i = 0; i < GOLDEN_ROUNDS; i++) {
        double left = high - GOLDEN * (high - low);
        double right = low + GOLDEN * (high - low);
        if (sh_step_problem_get_loss(p, left, duration_s) <=
            sh_step_problem_get_loss(p, right, duration_s)) {
            high = right;
        } else {
            low = left;
        }
    }
    struct sh_step_trial refined = {.start_s = 0.5 * (low + high), .duration_s = duration_s};
    sh_step_problem_fit_levels(p, &refined);
    return refined.loss < best.loss ? refined : best;
}

enum sh_status sh_step_problem_locate(struct sh_step_problem *problem)
{
    const struct sh_step_fit_config *c = problem->config;
    double middle_s = 0.5 * (c->duration_min_s + c->duration_max_s);
    struct sh_step_trial trial = sh_step_problem_find_start(problem, middle_s);
    if (trial.loss >= DBL_MAX || !(problem->x_spread > 0.0)) {
        return SH_ERR_SINGULAR;
    }
    double reach_s = c->duration_max_s + c->boxcar_s + 2.0 / c->rate_hz;
    problem->start_min_s = fmax(problem->start_min_s, trial.start_s - reach_s);
    problem->start_max_s = fmin(problem->start_max_s, trial.start_s + reach_s);
    return SH_OK;
}

double sh_step_problem_get_quantile(const struct sh_step_problem *problem)
{
    return acos(1.0 - 2.0 * problem->config->fraction) / SH_PI;
}
