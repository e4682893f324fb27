/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_MEASURE_HOLD_H
#define SH_MEASURE_HOLD_H

#include "measure/catalog.h"
#include "measure/scene.h"

/*
 * Draw, hold and expansion times, clicker reaction, and the force of the hold
 * (docs/definitions.md). Fills DRAW_TIME, HOLD_TIME, EXPANSION_TIME, EXPANSION,
 * CLICKER_REACTION, HOLD_FORCE, PEAK_FORCE and RELEASE_FORCE of measures.
 *
 * Uncertainties: times from the two events; forces from white noise, calibration, rest level
 * and the events. Tremor is part of what these figures are defined on, not an error of them
 * (docs/uncertainty.md). The peak is the largest of several noisy means:
 * what that adds on average counts whole in its uncertainty.
 * Expansion needs the clicker, and full draw + 0.55 s before it (else SH_WHY_TOO_SHORT).
 * Cost: O(samples of the hold). Test: tests/measure/test_hold.c.
 */
void sh_hold_measure(const struct sh_scene *scene, struct sh_measures *measures);

#define SH_HOLD_RELEASE_SPAN_S 0.03

/* Median of the force over the 30 ms before at_s; SH_WHY_KNOWN, or the reason. */
enum sh_why sh_hold_release_force(const struct sh_scene *scene, double at_s, double *value_n);

#endif
