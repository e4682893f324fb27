/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "series/shift_plan.h"

#include <math.h>

#include "signal/distribution.h"

#define NORMAL_975 1.959963984540054

static double get_t(double level, double freedom)
{
    return sh_distribution_get_t_quantile(1.0 - 0.5 * level, freedom);
}

double sh_shift_plan_get_reach(const struct sh_shift_plan *plan, double u, double freedom)
{
    return hypot(get_t(SH_SHIFT_PLAN_LIMITS, freedom) * u, NORMAL_975 * plan->calibration_u);
}

double sh_shift_plan_get_visible(const struct sh_shift_plan *plan, double u, double freedom)
{
    const double beyond =
        fmax(get_t(plan->level, freedom) * u, sh_shift_plan_get_reach(plan, u, freedom));
    return beyond + sh_distribution_get_t_quantile(SH_SHIFT_PLAN_POWER, freedom) * u;
}

bool sh_shift_plan_is_possible(const struct sh_shift_plan *plan, double shift)
{
    return fabs(shift) > NORMAL_975 * plan->calibration_u;
}

double sh_shift_plan_get_needed(const struct sh_shift_plan *plan, double shift, double sd)
{
    if (!sh_shift_plan_is_possible(plan, shift)) {
        return 0.0;
    }
    for (size_t n = SH_SHIFT_PLAN_LEAST; n <= SH_SHIFT_PLAN_COUNTED; n++) {
        const double u = sd * sqrt(2.0 / (double)n);
        if (sh_shift_plan_get_visible(plan, u, 2.0 * (double)n - 2.0) <= fabs(shift)) {
            return (double)n;
        }
    }
    return 0.0;
}
