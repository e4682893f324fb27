/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/step_levels.h"

#include <float.h>
#include <math.h>
#include <stdbool.h>
#include <string.h>

#include "base/units.h"
#include "signal/cholesky.h"

#define LEVELS_MAX SH_STEP_PROBLEM_LEVELS_MAX

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
        sh_step_problem_set_basis(ramp.progress[i - ramp.first],
                                  (double)i * step_s - trial->start_s, basis);
        sh_cholesky_add_row(basis, p->x[i] - p->x_mean, p->n_levels, normal, right);
    }
    add_sides(p, &ramp.before, ramp.end, normal, right);
    if (!solve_levels(normal, right, p->n_levels, trial)) {
        return;
    }
    trial->loss = get_side_loss(p, trial, &ramp.before, ramp.end);
    for (size_t i = ramp.first; i < ramp.end; i++) {
        sh_step_problem_set_basis(ramp.progress[i - ramp.first],
                                  (double)i * step_s - trial->start_s, basis);
        double residual = sh_step_problem_get_rest(p, trial, i, basis);
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

void sh_step_levels_fit(const struct sh_step_problem *problem, struct sh_step_trial *trial)
{
    if (problem->has_sums) {
        fit_with_sums(problem, trial);
    } else {
        fit_each_sample(problem, trial);
    }
}

double sh_step_levels_get_loss(const struct sh_step_problem *problem,
                               double start_s,
                               double duration_s)
{
    struct sh_step_trial trial = {.start_s = start_s, .duration_s = duration_s};
    sh_step_levels_fit(problem, &trial);
    return trial.loss;
}
