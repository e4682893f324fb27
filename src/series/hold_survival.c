/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "series/hold_survival.h"

#include <math.h>
#include <stdlib.h>

#define HALF     0.5
#define Z_95     1.959963984540054
#define ROUNDING 1e-12

static int compare_times(const void *a, const void *b)
{
    const struct sh_hold_survival_time *x = a;
    const struct sh_hold_survival_time *y = b;
    if (x->hold_s < y->hold_s || x->hold_s > y->hold_s) {
        return x->hold_s < y->hold_s ? -1 : 1;
    }
    return (int)y->is_released - (int)x->is_released;
}

/* Whether one half lies inside the interval of a share of survivors. */
static bool holds_half(double share, double greenwood)
{
    if (!(share > 0.0) || !(share < 1.0)) {
        return false;
    }
    const double scale = log(-log(share));
    const double u = sqrt(greenwood) / fabs(log(share));
    return fabs(scale - log(-log(HALF))) <= Z_95 * u;
}

/* One release time: the share of survivors after it, and what it decides. */
static void step(double hold_s, double share, double greenwood, struct sh_hold_survival *out)
{
    if (!out->has_median && share <= HALF + ROUNDING) {
        out->has_median = true;
        out->median_s = hold_s;
    }
    const bool is_inside = holds_half(share, greenwood);
    if (!out->has_lo && (is_inside || share <= HALF)) {
        out->has_lo = true;
        out->lo_s = hold_s;
    }
    if (!out->has_hi && !is_inside && share < HALF) {
        out->has_hi = true;
        out->hi_s = hold_s;
    }
}

enum sh_status sh_hold_survival_get(struct sh_hold_survival_time *times,
                                    size_t n,
                                    struct sh_hold_survival *survival)
{
    double share = 1.0;
    double greenwood = 0.0;
    *survival = (struct sh_hold_survival){0};
    for (size_t i = 0; i < n; i++) {
        if (!isfinite(times[i].hold_s)) {
            return SH_ERR_NOT_FINITE;
        }
        survival->n_released += times[i].is_released ? 1 : 0;
        survival->n_let_down += times[i].is_released ? 0 : 1;
    }
    qsort(times, n, sizeof *times, compare_times);
    for (size_t i = 0; i < n;) {
        const double at_risk = (double)(n - i);
        double n_released = 0.0;
        const double hold_s = times[i].hold_s;
        for (; i < n && times[i].hold_s <= hold_s; i++) {
            n_released += times[i].is_released ? 1.0 : 0.0;
        }
        if (n_released > 0.0) {
            share *= 1.0 - n_released / at_risk;
            greenwood +=
                n_released < at_risk ? n_released / (at_risk * (at_risk - n_released)) : 0.0;
            step(hold_s, share, greenwood, survival);
        }
    }
    return SH_OK;
}

enum sh_status sh_hold_survival_get_set(const struct sh_consistency_set *set,
                                        struct sh_hold_survival *survival)
{
    struct sh_hold_survival_time *times = calloc(set->n_rows + 1, sizeof *times);
    size_t n = 0;
    if (times == NULL) {
        return SH_ERR_MEMORY;
    }
    for (size_t i = 0; i < set->n_rows; i++) {
        const struct sh_consistency_row *row = &set->rows[i];
        if (sh_quantity_is_known(&row->value[SH_CONSISTENCY_HOLD])) {
            times[n++] = (struct sh_hold_survival_time){row->value[SH_CONSISTENCY_HOLD].value,
                                                        !row->is_let_down};
        }
    }
    const enum sh_status status = sh_hold_survival_get(times, n, survival);
    free(times);
    return status;
}
