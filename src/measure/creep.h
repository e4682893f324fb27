/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_MEASURE_CREEP_H
#define SH_MEASURE_CREEP_H

#include "measure/catalog.h"
#include "measure/scene.h"

/*
 * Creep, its rate, and collapse (docs/definitions.md). Fills CREEP_FORCE, CREEP_LENGTH,
 * CREEP_RATE, COLLAPSE and creep_bias_n.
 *
 * Uncertainties: white noise through the windows, calibration, events, and of the length the
 * stiffness. Tremor is part of what is defined; the findings' thresholds allow for it. The
 * rate's is what noise moves the median slope by, from the pairs of points whose slopes lie
 * near it (creep.c): tremor spreads the slopes, and fewer pairs then carry the noise.
 *
 * Creep is the largest of many falls: of a hold without any fall noise makes it creep_bias_n on
 * average, s (2 sqrt(2 ln n) - 1.3 / n), s being the noise of a 500 ms mean and n the span in
 * units of 500 ms (fitted to simulated white noise, n 2 to 16, and within 20 % of what
 * tests/measure/test_creep.c sees). A fall that stands out of the noise is hardly enlarged. The
 * value is left as defined; where noise alone could have made it (value under creep_bias_n +
 * 1.96 u) the 95 % interval reaches down to 0.
 *
 * SH_WHY_TOO_SHORT: under 500 ms from full draw + 0.35 s to c; for the rate, full draw later
 * than c - 1.05 s; for collapse, later than the clicker - 0.2 s. Collapse needs the clicker.
 * Cost: O(samples of the hold). Test: tests/measure/test_creep.c.
 */
void sh_creep_measure(const struct sh_scene *scene, struct sh_measures *measures);

/* s(n) of the bias above in units of the mean's standard deviation; 0 for n at most 1. */
double sh_creep_get_bias_ratio(double n_means);

#endif
