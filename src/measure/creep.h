/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_MEASURE_CREEP_H
#define SH_MEASURE_CREEP_H

#include "measure/catalog.h"
#include "measure/scene.h"

/*
 * Creep, its rate, and collapse (docs/definitions.md). Fills CREEP_FORCE, CREEP_LENGTH,
 * CREEP_RATE, COLLAPSE and creep_bias_n; scene->tremor has been set.
 *
 * Uncertainties: white noise and tremor through the windows (unsteady.h), calibration, events,
 * and of the length the stiffness. The rate's is that of a least-squares slope over the square
 * root of 0.955, Theil-Sen's efficiency for normal noise (Sen 1968, J Am Stat Assoc 63:1379).
 *
 * Creep is the largest of many falls, hence too large on average: of a hold without any fall it
 * comes out as creep_bias_n, s (2 sqrt(2 ln n) - 1.3 / n), s being the standard deviation of a
 * 500 ms mean and n the span in units of 500 ms (fitted to simulated steady noise, white and
 * resonant at 5 and 8 Hz, n 2 to 16; with s from the shot's own spectrum it came out 4 to 16 %
 * above what was seen over 200 shots each, tests/measure/test_creep.c). A true fall that stands
 * out of the noise is enlarged by less. The value is left as defined; the 95 % interval reaches
 * down by the bias, and never below 0.
 *
 * SH_WHY_TOO_SHORT: under 500 ms from full draw + 0.35 s to c; for the rate, full draw later
 * than c - 1.05 s; for collapse, later than the clicker - 0.2 s. Collapse needs the clicker.
 * Cost: O(samples of the hold). Test: tests/measure/test_creep.c.
 */
void sh_creep_measure(const struct sh_scene *scene, struct sh_measures *measures);

/* s(n) of the bias above in units of the mean's standard deviation; 0 for n at most 1. */
double sh_creep_get_bias_ratio(double n_means);

#endif
