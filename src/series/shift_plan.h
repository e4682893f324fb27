/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SERIES_SHIFT_PLAN_H
#define SH_SERIES_SHIFT_PLAN_H

#include <stdbool.h>
#include <stddef.h>

/*
 * What a comparison of two means can show: how large a shift it would see, and how many
 * observations a side a shift needs. Test of all: tests/series/test_shift_plan.c, and against
 * SciPy the family "shifts" of tests/reference.
 */
struct sh_shift_plan {
    double level;         /* two-sided, at which a shift is called one: 0 .. 0.05 */
    double calibration_u; /* standard uncertainty that no number of observations takes away */
};

#define SH_SHIFT_PLAN_LIMITS  0.05 /* limits are those of 95 % whatever the level */
#define SH_SHIFT_PLAN_POWER   0.8
#define SH_SHIFT_PLAN_COUNTED 1000u /* more are not counted up */
/* fewer a side can be arranged in no 40 ways, and p of a permutation stays above 0.05 */
#define SH_SHIFT_PLAN_LEAST 4u

/*
 * What the 95 % limits reach to either side of a shift: Student's t of freedom times its
 * standard uncertainty u (calibration not in it), the calibration's added by squares. Cost: one
 * quantile. Any thread.
 */
double sh_shift_plan_get_reach(const struct sh_shift_plan *plan, double u, double freedom);

/*
 * The least shift that is seen with SH_SHIFT_PLAN_POWER: beyond t of the level and beyond what
 * the limits reach, whichever is more, by t(0.8) u. Any thread.
 */
double sh_shift_plan_get_visible(const struct sh_shift_plan *plan, double u, double freedom);

/* True where more observations could show the shift: it is beyond the calibration's limits. */
bool sh_shift_plan_is_possible(const struct sh_shift_plan *plan, double shift);

/*
 * Observations a side after which a shift of that size is seen with SH_SHIFT_PLAN_POWER, sd
 * being that of observations, SH_SHIFT_PLAN_LEAST or more; 0 where more than
 * SH_SHIFT_PLAN_COUNTED are, or no number would do. Without a calibration within 1 of the count
 * by the noncentral t (R's power.t.test). Any thread.
 */
double sh_shift_plan_get_needed(const struct sh_shift_plan *plan, double shift, double sd);

#endif
