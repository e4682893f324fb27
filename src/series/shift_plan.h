/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SERIES_SHIFT_PLAN_H
#define SH_SERIES_SHIFT_PLAN_H

#include <stdbool.h>
#include <stddef.h>

/*
 * What a comparison of two means can show: how large a shift another one like it would see, and
 * how many observations a side a shift needs. The scatter is not known but estimated from the
 * comparison made, and so is the t that a shift must go beyond; the next comparison estimates
 * both afresh. Chances are means over all of that, so that of all cases in which a chance of
 * 0.8 is stated 0.8 are seen, not of those with a lucky estimate. Test of all:
 * tests/series/test_shift_plan.c, and against SciPy the family "shifts" of tests/reference.
 */
struct sh_shift_plan {
    /*
     * two-sided p of one figure's t that is called a shift, as read from the arrangements of
     * the comparison made: the n-th largest t, n being sh_shift_plan_get_rank; 0 .. 0.05
     */
    double level;
    double calibration_u; /* standard uncertainty that no number of observations takes away */
    double calibration_t; /* how many of these a shift must go beyond; looked at where u > 0 */
};

/* A comparison, made or to be made. */
struct sh_shift_trial {
    double u;              /* standard uncertainty of its shift by the scatter, calibration not
                              in it */
    double freedom;        /* of that scatter */
    double n_arrangements; /* of its sides, that can differ in |t| */
};

#define SH_SHIFT_PLAN_LEVEL   0.05 /* of all figures together, and of limits */
#define SH_SHIFT_PLAN_POWER   0.8
#define SH_SHIFT_PLAN_COUNTED 1000u /* more are not counted up */
/* fewer a side can be arranged in no 40 ways, and p of a permutation stays above 0.05 */
#define SH_SHIFT_PLAN_LEAST 4u
#define SH_SHIFT_PLAN_DRAWN 5000.0 /* more arrangements are not told apart: they are drawn */

/* How many of the arrangements, the one as shot counted, make up the level; at least 1. */
double sh_shift_plan_get_rank(double n_arrangements);

/*
 * What limits reach to either side of a shift: t times its standard uncertainty u, the
 * calibration's added by squares. Any thread.
 */
double sh_shift_plan_get_reach(const struct sh_shift_plan *plan, double t, double u);

/*
 * Chance that a shift is seen in the next comparison, whose u is what the scatter of the one
 * made says. Seen is what goes beyond t of the level and calibration_t of the calibration's
 * uncertainty, by squares. A mean over
 * - the true scatter: made.freedom degrees stand behind its estimate;
 * - the next one's estimate of it;
 * - the level: p of the n-th largest of t is spread as a gamma law of shape n, so that two
 *   such p are to one another as Fisher's F; n less a fifth, as arrangements that differ in
 *   two observations are alike (from simulation, docs/compare.md);
 * - the calibrations' own error.
 * 0 .. 1. Any thread. Cost: some 20,000 exponentials.
 */
double sh_shift_plan_get_chance(const struct sh_shift_plan *plan,
                                const struct sh_shift_trial *made,
                                const struct sh_shift_trial *next,
                                double shift);

/* The shift that is seen with SH_SHIFT_PLAN_POWER in another comparison like the one made, to a
 * thousandth of itself. Any thread. */
double sh_shift_plan_get_visible(const struct sh_shift_plan *plan,
                                 const struct sh_shift_trial *made);

/* True where enough observations would show the shift with SH_SHIFT_PLAN_POWER. */
bool sh_shift_plan_is_possible(const struct sh_shift_plan *plan, double shift);

/*
 * Observations a side after which a shift of that size is seen with SH_SHIFT_PLAN_POWER, sd
 * being that of observations in the comparison made, SH_SHIFT_PLAN_LEAST or more; 0 where more
 * than SH_SHIFT_PLAN_COUNTED are, or no number would do. With a scatter and a level that are
 * known for sure, within 1 of the count by the noncentral t (R's power.t.test). Any thread.
 */
double sh_shift_plan_get_needed(const struct sh_shift_plan *plan,
                                const struct sh_shift_trial *made,
                                double shift,
                                double sd);

#endif
