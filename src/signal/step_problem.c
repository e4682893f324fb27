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

static void set_basis(double progress, double since_start_s, double *basis)
{
    basis[0] = 1.0 - progress;
    basis[1] = progress;
    basis[2] = since_start_s * (1.0 - progress);
}

void sh_step_problem_get_basis(const struct sh_step_problem *problem,
                               const struct sh_step_trial *trial,
                               size_t i,
                               double *basis)
{
    double t_s = (double)i / problem->config->rate_hz;
    set_basis(sh_step_problem_get_progress(problem, trial, t_s), t_s - trial->start_s, basis);
}

static double get_residual(const struct sh_step_problem *p,
                           const struct sh_step_trial *trial,
                           size_t i,
                           const double *basis)
{
    double residual = p->x[i] - p->x_mean;
    for (size_t a = 0; a < p->n_levels; a++) {
        residual -= basis[a] * trial->level[a];
    }
    return residual;
}

double sh_step_problem_get_residual(const struct sh_step_problem *problem,
                                    const struct sh_step_trial *trial,
                                    size_t i)
{
    double basis[LEVELS_MAX] = {0.0};
    sh_step_problem_get_basis(problem, trial, i, basis);
    return get_residual(problem, trial, i, basis);
}

/* First sample at or after t_s, 0 to n. */
static size_t find_sample(const struct sh_step_problem *p, double t_s)
{
    double i = ceil(t_s * p->config->rate_hz);
    return i <= 0.0 ? 0 : i >= (double)p->n ? p->n : (size_t)i;
}

/* The samples before the ramp as one: what they add to a fit of level and slope. */
struct stretch {
    double n;
    double t;  /* sum of times from the start, s */
    double tt; /* and of their squares */
    double y;  /* sum of the values about the centre */
    double yy;
    double ty;
};

/* A trial's ramp: its samples first .. end - 1, how far each has gone, and what lies before. */
struct ramp {
    size_t first;
    size_t end;
    struct stretch before;
    double progress[SH_STEP_PROBLEM_SUMS_MAX]; /* [end - first] */
};

/* Half a cosine without averaging is turned on from sample to sample. */
static void fill_cosine(const struct sh_step_problem *p,
                        const struct sh_step_trial *trial,
                        struct ramp *ramp)
{
    double step_s = 1.0 / p->config->rate_hz;
    double angle = SH_PI * ((double)ramp->first * step_s - trial->start_s) / trial->duration_s;
    double step = SH_PI * step_s / trial->duration_s;
    double cosine = cos(angle);
    double sine = sin(angle);
    double step_cos = cos(step);
    double step_sin = sin(step);
    for (size_t i = ramp->first; i < ramp->end; i++) {
        ramp->progress[i - ramp->first] = 0.5 * (1.0 - cosine);
        double next = cosine * step_cos - sine * step_sin;
        sine = sine * step_cos + cosine * step_sin;
        cosine = next;
    }
}

static struct stretch get_before(const struct sh_step_problem *p, double start_s, size_t first)
{
    const struct sh_step_sums *sums = &p->sums;
    double n = (double)first;
    double step_s = 1.0 / p->config->rate_hz;
    double i1 = 0.5 * n * (n - 1.0);
    double i2 = i1 * (2.0 * n - 1.0) / 3.0;
    return (struct stretch){
        .n = n,
        .t = i1 * step_s - n * start_s,
        .tt = i2 * step_s * step_s - 2.0 * i1 * step_s * start_s + n * start_s * start_s,
        .y = sums->before[first],
        .yy = sums->before_square[first],
        .ty = sums->before_moment[first] * step_s - start_s * sums->before[first]};
}

/* Adds one side's samples, whose sums are known, to the normal equations. */
static void add_sides(const struct sh_step_problem *p,
                      const struct stretch *before,
                      size_t end,
                      double *normal,
                      double *right)
{
    size_t m = p->n_levels;
    double centre = p->sums.before_centre - p->x_mean;
    double n_after = (double)(p->n - end);
    normal[0] += before->n;
    normal[m + 1] += n_after;
    right[0] += before->y + before->n * centre;
    right[1] += p->sums.after[end] + n_after * (p->sums.after_centre - p->x_mean);
    if (m > 2) {
        normal[2 * m] += before->t;
        normal[2 * m + 2] += before->tt;
        right[2] += before->ty + before->t * centre;
    }
}

/* Loss of the samples off the ramp. */
static double get_side_loss(const struct sh_step_problem *p,
                            const struct sh_step_trial *trial,
                            const struct stretch *before,
                            size_t end)
{
    double a = trial->level[0] + p->x_mean - p->sums.before_centre;
    double b = trial->level[1] + p->x_mean - p->sums.after_centre;
    double slope = trial->level[2];
    double early = before->yy - 2.0 * a * before->y + before->n * a * a +
                   slope * (slope * before->tt - 2.0 * before->ty + 2.0 * a * before->t);
    double late =
        p->sums.after_square[end] - 2.0 * b * p->sums.after[end] + (double)(p->n - end) * b * b;
    return fmax(early, 0.0) + fmax(late, 0.0);
}

static void
fill_ramp(const struct sh_step_problem *p, const struct sh_step_trial *trial, struct ramp *ramp)
{
    double over_s = trial->start_s + trial->duration_s + p->config->boxcar_s;
    ramp->first = find_sample(p, trial->start_s);
    ramp->end = find_sample(p, over_s);
    ramp->before = get_before(p, trial->start_s, ramp->first);
    if (!(p->config->boxcar_s > 0.0)) {
        fill_cosine(p, trial, ramp);
        return;
    }
    for (size_t i = ramp->first; i < ramp->end; i++) {
        double t_s = (double)i / p->config->rate_hz;
        ramp->progress[i - ramp->first] = sh_step_problem_get_progress(p, trial, t_s);
    }
}

/* Solves for the levels; false where they are not determined. */
static bool solve_levels(double *normal, double *right, size_t m, struct sh_step_trial *trial)
{
    trial->loss = DBL_MAX;
    trial->level[2] = 0.0;
    if (sh_cholesky_factor(normal, m) != SH_OK) {
        return false;
    }
    sh_cholesky_solve(normal, m, right);
    memcpy(trial->level, right, m * sizeof(*right));
    return true;
}

static void fit_with_sums(const struct sh_step_problem *p, struct sh_step_trial *trial)
{
    struct ramp ramp;
    double normal[LEVELS_MAX * LEVELS_MAX] = {0.0};
    double right[LEVELS_MAX] = {0.0};
    double basis[LEVELS_MAX] = {0.0};
    double step_s = 1.0 / p->config->rate_hz;
    fill_ramp(p, trial, &ramp);
    for (size_t i = ramp.first; i < ramp.end; i++) {
        set_basis(ramp.progress[i - ramp.first], (double)i * step_s - trial->start_s, basis);
        sh_cholesky_add_row(basis, p->x[i] - p->x_mean, p->n_levels, normal, right);
    }
    add_sides(p, &ramp.before, ramp.end, normal, right);
    if (!solve_levels(normal, right, p->n_levels, trial)) {
        return;
    }
    trial->loss = get_side_loss(p, trial, &ramp.before, ramp.end);
    for (size_t i = ramp.first; i < ramp.end; i++) {
        set_basis(ramp.progress[i - ramp.first], (double)i * step_s - trial->start_s, basis);
        double residual = get_residual(p, trial, i, basis);
        trial->loss += residual * residual;
    }
}

static void fit_each_sample(const struct sh_step_problem *p, struct sh_step_trial *trial)
{
    double normal[LEVELS_MAX * LEVELS_MAX] = {0.0};
    double right[LEVELS_MAX] = {0.0};
    double basis[LEVELS_MAX] = {0.0};
    for (size_t i = 0; i < p->n; i++) {
        sh_step_problem_get_basis(p, trial, i, basis);
        sh_cholesky_add_row(basis, p->x[i] - p->x_mean, p->n_levels, normal, right);
    }
    if (!solve_levels(normal, right, p->n_levels, trial)) {
        return;
    }
    trial->loss = 0.0;
    for (size_t i = 0; i < p->n; i++) {
        double residual = sh_step_problem_get_residual(p, trial, i);
        trial->loss += residual * residual;
    }
}

void sh_step_problem_fit_levels(const struct sh_step_problem *problem,
                                struct sh_step_trial *trial)
{
    if (problem->has_sums) {
        fit_with_sums(problem, trial);
    } else {
        fit_each_sample(problem, trial);
    }
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

/* The start of least loss between low and high, by golden section. */
static double
narrow_start(const struct sh_step_problem *p, double duration_s, double low, double high)
{
    double left = high - GOLDEN * (high - low);
    double right = low + GOLDEN * (high - low);
    double left_loss = sh_step_problem_get_loss(p, left, duration_s);
    double right_loss = sh_step_problem_get_loss(p, right, duration_s);
    for (int i = 0; i < GOLDEN_ROUNDS; i++) {
        if (left_loss <= right_loss) {
            high = right;
            right = left;
            right_loss = left_loss;
            left = high - GOLDEN * (high - low);
            left_loss = sh_step_problem_get_loss(p, left, duration_s);
        } else {
            low = left;
            left = right;
            left_loss = right_loss;
            right = low + GOLDEN * (high - low);
            right_loss = sh_step_problem_get_loss(p, right, duration_s);
        }
    }
    return 0.5 * (low + high);
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
    double start_s = narrow_start(p, duration_s, low, high);
    struct sh_step_trial refined = {.start_s = start_s, .duration_s = duration_s};
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
