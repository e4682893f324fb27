/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_MEASURE_FINGER_SUM_H
#define SH_MEASURE_FINGER_SUM_H

#include "measure/catalog.h"
#include "measure/finger_net.h"
#include "measure/scene.h"

/*
 * Sets measures->finger_sum_ratio: the mean of the fingers' summed net force over the mean of
 * the string's, both from full draw to 50 ms before the release. The fingers do not pull one
 * way and the tab takes some, so that each archer and tab has a ratio of its own;
 * series/finger_sum.h compares a shot's with it.
 *
 * Uncertainty: only what differs from shot to shot of one session (noise, rest levels, what the
 * load drift left); the calibration's errors are in all its shots alike. SH_WHY_NO_CHANNEL: no
 * string force, or a finger is missing; else the finger's, the events' or the span's reason;
 * SH_WHY_UNRESOLVED: the string's mean is under 1 N. Cost: O(samples of the hold). Test:
 * tests/measure/test_finger_sum.c.
 */
void sh_finger_sum_measure(const struct sh_scene *scene,
                           const struct sh_finger_net *net,
                           struct sh_measures *measures);

#endif
