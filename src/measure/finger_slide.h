/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_MEASURE_FINGER_SLIDE_H
#define SH_MEASURE_FINGER_SLIDE_H

#include <stddef.h>

#include "base/quantity.h"

/*
 * Finds when a series begins to fall: a level that drifts evenly, with one fall in it, fitted
 * by least squares to share[n]. How a finger slides is not known, so that two falls are tried,
 * of every length: a straight one and the smoothest movement (minimum jerk, Flash & Hogan 1985,
 * J. Neurosci. 5:1688), and every step_s as its beginning. The 95 % limits hold every beginning
 * from which a fall of either form fits with a sum of squares of no more than 1 + 6/(n - 5)
 * times the least (the likelihood's profile), and a rectangle of step_s; u is the longer of
 * their distances from the value over 1.96.
 * time_s: [n], rising. SH_WHY_TOO_SHORT: n under 8. SH_WHY_NOT_SEEN: nothing falls. No heap.
 * Cost: O(n * span / step_s), some milliseconds for a hold of 4 s.
 * Test: tests/measure/test_finger_slide.c.
 */
struct sh_finger_slide_series {
    const double *time_s;
    const double *share;
    size_t n;
    double step_s;
};

struct sh_quantity sh_finger_slide_find(const struct sh_finger_slide_series *series);

#endif
