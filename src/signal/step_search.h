/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SIGNAL_STEP_SEARCH_H
#define SH_SIGNAL_STEP_SEARCH_H

#include "signal/step_problem.h"

/*
 * Inside of the step fit: where the ramp begins, for a given duration. Tested through
 * sh_step_fit_run. Any thread, no heap.
 */

/*
 * Trial with the start of least loss for one duration: coarse search, then golden section.
 * Cost: some thirty losses and one each quarter of the duration.
 */
struct sh_step_trial sh_step_search_find_start(const struct sh_step_problem *problem,
                                               double duration_s);

/*
 * Narrows start_min_s .. start_max_s to the surroundings of the step, as a ramp of middle
 * length sees it. SH_ERR_SINGULAR: no start leaves samples on both sides.
 */
enum sh_status sh_step_search_locate(struct sh_step_problem *problem);

#endif
