/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_MEASURE_FINGER_SLIDE_H
#define SH_MEASURE_FINGER_SLIDE_H

#include <stddef.h>

#include "base/quantity.h"

/*
 * Finds when a series begins to fall: the corner of a level and a falling line, fitted by least
 * squares over share[n] up to where nine tenths of the fall from the mean of the first n_before
 * to that of the last n_after are reached (three in a row, mean). Corners are tried every
 * step_s; u is half the range over which the sum of squares is within 1 + 1/(m - 3) of the
 * least, m the number of points, and a rectangle of step_s. How a finger slides is not known: a
 * straight fall begins at the corner, the smoothest movement (minimum jerk, Flash & Hogan 1985,
 * J. Neurosci. 5:1688) some 0.1 to 0.3 of the time from the corner to the fall's end before it.
 * The 95 % limits reach 0.35 of that time further back, and u holds it as a rectangle.
 * time_s: [n], rising. SH_WHY_TOO_SHORT: n under 8, or n_before or n_after not in 1 .. n.
 * SH_WHY_NOT_SEEN: no line falls. No heap. Cost: O(n * span / step_s).
 * Test: tests/measure/test_finger_slide.c.
 */
struct sh_finger_slide_series {
    const double *time_s;
    const double *share;
    size_t n;
    size_t n_before;
    size_t n_after;
    double step_s;
};

struct sh_quantity sh_finger_slide_find(const struct sh_finger_slide_series *series);

#endif
