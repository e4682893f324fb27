/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_MEASURE_FINGER_LOAD_H
#define SH_MEASURE_FINGER_LOAD_H

#include "measure/catalog.h"
#include "measure/finger_net.h"
#include "measure/scene.h"

/*
 * What each finger carries (docs/definitions.md). Fills FINGER_IMPULSE, FINGER_PEAK and
 * FINGER_LOAD_RATE; a finger without a channel is unknown, the others are not.
 *
 * - Impulse: trapezoids from draw start to release, of a let-down to its end. Uncertainty:
 *   calibration, rest level over the whole time, noise, and the force at either end times that
 *   event's uncertainty.
 * - Peak: largest 20 ms mean. Uncertainty: noise, rest level, calibration. Not of a let-down.
 * - Load rate: 20 ms means; from the last one at or below 20 % of the finger's hold value (its
 *   median from full draw to 50 ms before the release) to the first at 80 % after draw start.
 *   Uncertainty: calibration and the noise of the two crossings. SH_WHY_UNRESOLVED: already
 *   above 20 % at draw start. SH_WHY_NOT_SEEN: 80 % not reached, or no load (under 1 N).
 *   SH_WHY_TOO_SLOW: the two lie in one sample.
 *
 * Cost: O(samples of draw and hold). Test: tests/measure/test_finger_load.c.
 */
void sh_finger_load_measure(const struct sh_scene *scene,
                            const struct sh_finger_net *net,
                            struct sh_measures *measures);

#endif
