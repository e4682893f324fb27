/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/step_search.h"

#include <float.h>
#include <math.h>

#include "signal/step_levels.h"

#define GOLDEN_ROUNDS 28
#define GOLDEN        0.6180339887498949 /* (sqrt 5 - 1) / 2 */

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
    double left_loss = sh_step_levels_get_loss(p, left, duration_s);
    double right_loss = sh_step_levels_get_loss(p, right, duration_s);
    for (int i = 0; i < GOLDEN_ROUNDS; i++) {
        if (left_loss <= right_loss) {
            high = right;
            right = left;
            right_loss = left_loss;
            left = high - GOLDEN * (high - low);
            left_loss = sh_step_levels_get_loss(p, left, duration_s);
        } else {
            low = left;
            left = right;
            left_loss = right_loss;
            right = low + GOLDEN * (high - low);
            right_loss = sh_step_levels_get_loss(p, right, duration_s);
        }
    }
    return 0.5 * (low + high);
}

struct sh_step_trial sh_step_search_find_start(const struct sh_step_problem *problem,
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
        sh_step_levels_fit(p, &trial);
        if (trial.loss < best.loss) {
            best = trial;
        }
    }
    double low = fmax(best.start_s - step, p->start_min_s);
    double high = fmin(best.start_s + step, p->start_max_s);
    double start_s = narrow_start(p, duration_s, low, high);
    struct sh_step_trial refined = {.start_s = start_s, .duration_s = duration_s};
    sh_step_levels_fit(p, &refined);
    return refined.loss < best.loss ? refined : best;
}

enum sh_status sh_step_search_locate(struct sh_step_problem *problem)
{
    const struct sh_step_fit_config *c = problem->config;
    double middle_s = 0.5 * (c->duration_min_s + c->duration_max_s);
    struct sh_step_trial trial = sh_step_search_find_start(problem, middle_s);
    if (trial.loss >= DBL_MAX || !(problem->x_spread > 0.0)) {
        return SH_ERR_SINGULAR;
    }
    double reach_s = c->duration_max_s + c->boxcar_s + 2.0 / c->rate_hz;
    problem->start_min_s = fmax(problem->start_min_s, trial.start_s - reach_s);
    problem->start_max_s = fmin(problem->start_max_s, trial.start_s + reach_s);
    return SH_OK;
}
