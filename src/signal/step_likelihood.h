/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SIGNAL_STEP_LIKELIHOOD_H
#define SH_SIGNAL_STEP_LIKELIHOOD_H

#include "signal/step_problem.h"

/*
 * Inside of the step fit: times of a ramp that the samples do not resolve, from the likelihood
 * exp(-loss / 2 noise^2) averaged over start and duration, every duration of the configured
 * range being as likely before. best: the trial of least loss known; it only sets the scale.
 * Fills time_s (with its 95 % interval), start_s and duration_s of out.
 * SH_ERR_SINGULAR: no trial comes near best. Cost: some thousand losses. No heap, 40 KB of
 * stack. Tested through sh_step_fit_run.
 */
enum sh_status sh_step_likelihood_average(const struct sh_step_problem *problem,
                                          const struct sh_step_trial *best,
                                          double noise,
                                          struct sh_step_fit *out);

#endif
