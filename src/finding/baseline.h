/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_FINDING_BASELINE_H
#define SH_FINDING_BASELINE_H

#include <stdbool.h>
#include <stddef.h>

#include "measure/catalog.h"

/*
 * What is usual for an athlete with this bow and sensor, from earlier shots: the app fills it.
 */

#define SH_BASELINE_SHOTS_MIN 20u /* fewer earlier shots say nothing */

struct sh_baseline_place {
    size_t n;         /* earlier shots in which it was known */
    double median;    /* in the measure's unit */
    double robust_sd; /* 1.4826 MAD */
};

struct sh_baseline {
    struct sh_baseline_place place[SH_MEASURE_PLACES];
    size_t n_clocked;         /* earlier shots under a clock */
    double set_up_quantile_s; /* the low quantile of their set-up times */
};

#endif
