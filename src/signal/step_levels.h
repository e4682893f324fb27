/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SIGNAL_STEP_LEVELS_H
#define SH_SIGNAL_STEP_LEVELS_H

#include "signal/step_problem.h"

/*
 * Inside of the step fit: the levels on both sides for one trial of start and duration, by
 * linear least squares. Tested through sh_step_fit_run. Any thread, no heap, 16 KB of stack.
 */

/*
 * Fits the levels for the trial's start and duration, and sets its loss. Cost: O(samples on the
 * ramp), O(n) without sums.
 */
void sh_step_levels_fit(const struct sh_step_problem *problem, struct sh_step_trial *trial);

/* Loss alone. */
double sh_step_levels_get_loss(const struct sh_step_problem *problem,
                               double start_s,
                               double duration_s);

#endif
