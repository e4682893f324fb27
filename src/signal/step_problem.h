/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SIGNAL_STEP_PROBLEM_H
#define SH_SIGNAL_STEP_PROBLEM_H

#include <stddef.h>

#include "signal/step_fit.h"

/*
 * Inside of the step fit: one window of samples, trials of start and duration, and the loss
 * (residual sum of squares) that each leaves. Used by the other step_ files only;
 * tested through sh_step_fit_run. Any thread, no heap, 80 KB of stack a problem.
 */

#define SH_STEP_PROBLEM_LEVELS_MAX 3u    /* before, after, slope */
#define SH_STEP_PROBLEM_SUMS_MAX   2048u /* samples for which sums are kept; more: added anew */

/*
 * Sums over the samples before, and from, each sample: what lies off the ramp then costs a
 * trial nothing. Values are taken relative to a centre on their own side of the step, so that
 * no digits are lost.
 */
struct sh_step_sums {
    double before_centre;
    double after_centre;
    double before[SH_STEP_PROBLEM_SUMS_MAX + 1]; /* of x - before_centre */
    double before_square[SH_STEP_PROBLEM_SUMS_MAX + 1];
    double before_moment[SH_STEP_PROBLEM_SUMS_MAX + 1]; /* times the sample's number */
    double after[SH_STEP_PROBLEM_SUMS_MAX + 1];         /* of x - after_centre */
    double after_square[SH_STEP_PROBLEM_SUMS_MAX + 1];
};

/* What every trial of one window shares; times in seconds from the first sample. Keeps x. */
struct sh_step_problem {
    const struct sh_step_fit_config *config;
    const double *x;
    size_t n;
    size_t n_levels;
    double start_min_s;
    double start_max_s;
    double x_mean;
    double x_spread; /* root mean square about the mean */
    bool has_sums;   /* n is at most SH_STEP_PROBLEM_SUMS_MAX */
    struct sh_step_sums sums;
};

struct sh_step_trial {
    double start_s;
    double duration_s;
    double level[SH_STEP_PROBLEM_LEVELS_MAX]; /* before - x_mean, after - x_mean, slope */
    double loss;                              /* DBL_MAX where the levels are not determined */
};

/* Checks config and samples and sets the problem up; statuses as sh_step_fit_run. Keeps both.
 */
enum sh_status sh_step_problem_init(struct sh_step_problem *problem,
                                    const struct sh_step_fit_config *config,
                                    const double *x,
                                    size_t n);

/* How far the sensor has gone from one level to the other at t_s, 0 to 1. Cost: two cosines. */
double sh_step_problem_get_progress(const struct sh_step_problem *problem,
                                    const struct sh_step_trial *trial,
                                    double t_s);

/* What multiplies the levels at sample i: basis[SH_STEP_PROBLEM_LEVELS_MAX]. */
void sh_step_problem_get_basis(const struct sh_step_problem *problem,
                               const struct sh_step_trial *trial,
                               size_t i,
                               double *basis);

/* The same where the progress and the time since the start are known. */
static inline void
sh_step_problem_set_basis(double progress, double since_start_s, double *basis)
{
    basis[0] = 1.0 - progress;
    basis[1] = progress;
    basis[2] = since_start_s * (1.0 - progress);
}

/* x[i] less the trial's model. */
double sh_step_problem_get_residual(const struct sh_step_problem *problem,
                                    const struct sh_step_trial *trial,
                                    size_t i);

/* The same where the basis at sample i is known. */
static inline double sh_step_problem_get_rest(const struct sh_step_problem *problem,
                                              const struct sh_step_trial *trial,
                                              size_t i,
                                              const double *basis)
{
    double rest = problem->x[i] - problem->x_mean;
    for (size_t a = 0; a < problem->n_levels; a++) {
        rest -= basis[a] * trial->level[a];
    }
    return rest;
}

/* Time from the start to the wanted fraction of the ramp, in durations. */
double sh_step_problem_get_quantile(const struct sh_step_problem *problem);

#endif
