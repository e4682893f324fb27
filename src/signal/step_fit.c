/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/step_fit.h"

#include <float.h>
#include <math.h>
#include <string.h>

#include "signal/cholesky.h"
#include "signal/step_levels.h"
#include "signal/step_likelihood.h"
#include "signal/step_problem.h"
#include "signal/step_search.h"

#define LEVELS_MAX        SH_STEP_PROBLEM_LEVELS_MAX
#define PARAMETERS_MAX    5u /* start, duration and the levels */
#define DURATIONS         8u /* tried before the fit is refined */
#define ROUNDS_MAX        80
#define SETTLED           1e-9 /* last move, of the duration */
#define RESOLVED_RATIO    0.25 /* u(d) / d */
#define INSIDE_LEAST      3u   /* samples on the ramp of a resolved fit */
#define INSIDE_MARGIN     0.03 /* of the drop, from either level */
#define NOISE_FLOOR       1e-9 /* of the spread of the samples */
#define DROP_U_LEAST      3.0
#define OUTER_PART        0.3 /* from the middle on */
#define SHAPE_OUTER_RATIO 0.06
#define SHAPE_INNER_RATIO 0.025
#define DENSE_STEPS       4.0 /* samples a duration from which on the shape is read off the data */
#define DENSE_RATIO       0.2 /* what then remains of the doubt about the shape */

struct sh_step_fit_config sh_step_fit_config_default(void)
{
    return (struct sh_step_fit_config){.rate_hz = 1000.0,
                                       .fraction = 0.1,
                                       .duration_min_s = 0.001,
                                       .duration_max_s = 0.1,
                                       .start_min_s = 0.0,
                                       .start_max_s = DBL_MAX};
}

double sh_step_fit_get_shape_ratio(double fraction)
{
    return fabs(fraction - 0.5) > OUTER_PART ? SHAPE_OUTER_RATIO : SHAPE_INNER_RATIO;
}

static struct sh_step_trial find_best(const struct sh_step_problem *p)
{
    struct sh_step_trial best = {.loss = DBL_MAX};
    double ratio = p->config->duration_max_s / p->config->duration_min_s;
    for (size_t i = 0; i < DURATIONS; i++) {
        double share = ((double)i + 0.5) / DURATIONS;
        double duration_s = p->config->duration_min_s * pow(ratio, share);
        struct sh_step_trial trial = sh_step_search_find_start(p, duration_s);
        if (trial.loss < best.loss) {
            best = trial;
        }
    }
    return best;
}

static double get_progress_at(const struct sh_step_problem *p,
                              const struct sh_step_trial *trial,
                              const double *shift,
                              double t_s)
{
    struct sh_step_trial moved = {.start_s = trial->start_s + shift[0],
                                  .duration_s = trial->duration_s + shift[1]};
    return sh_step_problem_get_progress(p, &moved, t_s);
}

/* Derivatives of the model at sample i by start, duration and the levels. */
static void get_gradient(const struct sh_step_problem *p,
                         const struct sh_step_trial *trial,
                         size_t i,
                         double *g)
{
    double t_s = (double)i / p->config->rate_hz;
    double h = 1e-4 * trial->duration_s;
    double basis[LEVELS_MAX];
    sh_step_problem_get_basis(p, trial, i, basis);
    double line = trial->level[0] + trial->level[2] * (t_s - trial->start_s);
    double change = trial->level[1] - line;
    bool is_off = t_s < trial->start_s - 2.0 * h ||
                  t_s > trial->start_s + trial->duration_s + p->config->boxcar_s + 2.0 * h;
    g[0] = 0.0;
    g[1] = 0.0;
    for (size_t k = 0; k < 2 && !is_off; k++) {
        const double up[2] = {k == 0 ? h : 0.0, k == 1 ? h : 0.0};
        const double down[2] = {-up[0], -up[1]};
        double rise = get_progress_at(p, trial, up, t_s) - get_progress_at(p, trial, down, t_s);
        g[k] = change * rise / (2.0 * h);
    }
    g[0] -= trial->level[2] * basis[0];
    memcpy(g + 2, basis, p->n_levels * sizeof(*g));
}

/* Normal matrix and right side of the linearised fit. */
static void linearise(const struct sh_step_problem *p,
                      const struct sh_step_trial *trial,
                      double *normal,
                      double *right)
{
    size_t m = p->n_levels + 2;
    memset(normal, 0, m * m * sizeof(*normal));
    memset(right, 0, m * sizeof(*right));
    for (size_t i = 0; i < p->n; i++) {
        double g[PARAMETERS_MAX];
        get_gradient(p, trial, i, g);
        double residual = sh_step_problem_get_residual(p, trial, i);
        sh_cholesky_add_row(g, residual, m, normal, right);
    }
}

/* One damped step, held inside the configured ranges; false where it cannot be worked out. */
static bool step_damped(const struct sh_step_problem *p,
                        const struct sh_step_trial *trial,
                        double damping,
                        struct sh_step_trial *next)
{
    size_t m = p->n_levels + 2;
    double normal[PARAMETERS_MAX * PARAMETERS_MAX];
    double right[PARAMETERS_MAX];
    linearise(p, trial, normal, right);
    for (size_t a = 0; a < m; a++) {
        normal[a * m + a] *= 1.0 + damping;
    }
    if (sh_cholesky_factor(normal, m) != SH_OK) {
        return false;
    }
    sh_cholesky_solve(normal, m, right);
    double start_s = trial->start_s + right[0];
    double duration_s = trial->duration_s + right[1];
    *next =
        (struct sh_step_trial){.start_s = fmin(fmax(start_s, p->start_min_s), p->start_max_s),
                               .duration_s = fmin(fmax(duration_s, p->config->duration_min_s),
                                                  p->config->duration_max_s)};
    sh_step_levels_fit(p, next);
    return true;
}

/* Levenberg-Marquardt over start and duration, the levels fitted anew after each step. */
static void improve(const struct sh_step_problem *p, struct sh_step_trial *trial)
{
    double damping = 1e-3;
    for (int round = 0; round < ROUNDS_MAX && damping < 1e9; round++) {
        struct sh_step_trial next;
        bool has_step = step_damped(p, trial, damping, &next);
        damping *= 8.0;
        if (!has_step || !(next.loss < trial->loss)) {
            continue;
        }
        double moved_s =
            fabs(next.start_s - trial->start_s) + fabs(next.duration_s - trial->duration_s);
        *trial = next;
        damping /= 64.0;
        if (moved_s < SETTLED * trial->duration_s) {
            return;
        }
    }
}

static double get_noise(const struct sh_step_problem *p, const struct sh_step_trial *best)
{
    double least = NOISE_FLOOR * p->x_spread;
    if (p->config->noise > 0.0) {
        return fmax(p->config->noise, least);
    }
    double freedom = (double)p->n - (double)p->n_levels - 2.0;
    return fmax(sqrt(best->loss / freedom), least);
}

static size_t count_inside(const struct sh_step_problem *p, const struct sh_step_trial *trial)
{
    size_t n_inside = 0;
    for (size_t i = 0; i < p->n; i++) {
        double t_s = (double)i / p->config->rate_hz;
        double progress = sh_step_problem_get_progress(p, trial, t_s);
        n_inside += progress > INSIDE_MARGIN && progress < 1.0 - INSIDE_MARGIN;
    }
    return n_inside;
}

/*
 * Where samples lie dense on the ramp, their own passage through the wanted level replaces the
 * assumed shape's: moves time_s by the residual between the two samples around it over the
 * slope there, and keeps a share of the shape's doubt.
 */
static void follow_samples(const struct sh_step_problem *p,
                           const struct sh_step_trial *best,
                           double noise,
                           struct sh_quantity *time_s)
{
    double d = best->duration_s;
    double rate_hz = p->config->rate_hz;
    double seen = (time_s->value + 0.5 * p->config->boxcar_s) * rate_hz;
    if (d * rate_hz < DENSE_STEPS || 2.0 * p->config->boxcar_s > d || seen < 0.0 ||
        seen >= (double)(p->n - 1)) {
        return;
    }
    size_t i = (size_t)seen;
    double share = seen - (double)i;
    double residual = (1.0 - share) * sh_step_problem_get_residual(p, best, i) +
                      share * sh_step_problem_get_residual(p, best, i + 1);
    const double up[2] = {-1e-4 * d, 0.0};
    const double down[2] = {1e-4 * d, 0.0};
    double t_s = seen / rate_hz;
    double rise = get_progress_at(p, best, up, t_s) - get_progress_at(p, best, down, t_s);
    double slope = (best->level[1] - best->level[0]) * rise / (2e-4 * d);
    double read_u = noise * hypot(1.0 - share, share) / fabs(slope);
    double shape_u = DENSE_RATIO * sh_step_fit_get_shape_ratio(p->config->fraction) * d;
    double u = hypot(read_u, shape_u);
    if (u < time_s->u) {
        *time_s = sh_quantity_known(time_s->value - residual / slope, u);
    }
}

/* Fills times and drop from the covariance; false where the samples do not resolve the ramp. */
static bool use_covariance(const struct sh_step_problem *p,
                           const struct sh_step_trial *best,
                           double noise,
                           struct sh_step_fit *out)
{
    size_t m = p->n_levels + 2;
    double normal[PARAMETERS_MAX * PARAMETERS_MAX];
    double right[PARAMETERS_MAX];
    double cov[PARAMETERS_MAX * PARAMETERS_MAX];
    linearise(p, best, normal, right);
    if (count_inside(p, best) < INSIDE_LEAST || sh_cholesky_factor(normal, m) != SH_OK) {
        return false;
    }
    sh_cholesky_invert(normal, m, cov);
    double q = sh_step_problem_get_quantile(p);
    double s2 = noise * noise;
    double shape_s = sh_step_fit_get_shape_ratio(p->config->fraction) * best->duration_s;
    double var_t = s2 * (cov[0] + 2.0 * q * cov[1] + q * q * cov[m + 1]);
    double var_drop = s2 * (cov[2 * m + 2] - 2.0 * cov[2 * m + 3] + cov[3 * m + 3]);
    out->time_s = sh_quantity_known(best->start_s + q * best->duration_s,
                                    sqrt(fmax(var_t, 0.0) + shape_s * shape_s));
    out->start_s = sh_quantity_known(best->start_s, noise * sqrt(cov[0]));
    out->duration_s = sh_quantity_known(best->duration_s, noise * sqrt(cov[m + 1]));
    out->drop = sh_quantity_known(best->level[0] - best->level[1], sqrt(fmax(var_drop, 0.0)));
    if (!(out->duration_s.u < RESOLVED_RATIO * best->duration_s)) {
        return false;
    }
    follow_samples(p, best, noise, &out->time_s);
    return true;
}

/* Drop with an uncertainty from the samples on both sides, where there is no covariance. */
static struct sh_quantity
get_plain_drop(const struct sh_step_problem *p, const struct sh_step_trial *best, double noise)
{
    double n_before = fmax(best->start_s * p->config->rate_hz, 1.0);
    double n_after = fmax((double)p->n - n_before, 1.0);
    return sh_quantity_known(best->level[0] - best->level[1],
                             noise * sqrt(1.0 / n_before + 1.0 / n_after));
}

enum sh_status sh_step_fit_run(const struct sh_step_fit_config *config,
                               const double *x,
                               size_t n,
                               struct sh_step_fit *out)
{
    struct sh_step_problem p;
    enum sh_status status = sh_step_problem_init(&p, config, x, n);
    if (status == SH_OK) {
        status = sh_step_search_locate(&p);
    }
    if (status != SH_OK) {
        return status;
    }
    struct sh_step_trial best = find_best(&p);
    improve(&p, &best);
    double noise = get_noise(&p, &best);
    struct sh_step_fit fit = {.before = best.level[0] + p.x_mean,
                              .after = best.level[1] + p.x_mean,
                              .slope = best.level[2]};
    fit.residual_sd = sqrt(best.loss / ((double)n - (double)p.n_levels - 2.0));
    fit.is_resolved = use_covariance(&p, &best, noise, &fit);
    if (!fit.is_resolved) {
        fit.drop = get_plain_drop(&p, &best, noise);
        double misfit = SH_STEP_FIT_MISFIT_RATIO * fit.drop.value;
        status = sh_step_likelihood_average(&p, &best, hypot(noise, misfit), &fit);
    }
    if (status == SH_OK && !(fabs(fit.drop.value) > DROP_U_LEAST * fit.drop.u)) {
        status = SH_ERR_SINGULAR;
    }
    if (status == SH_OK) {
        *out = fit;
    }
    return status;
}
