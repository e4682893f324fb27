/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SERIES_HOLD_SURVIVAL_H
#define SH_SERIES_HOLD_SURVIVAL_H

#include "series/consistency_set.h"

/*
 * How long a hold lasts until the release where some draws are let down: of those it is known
 * only that they would have lasted longer. Test of all: tests/series/test_hold_survival.c.
 */

/* A hold, s; is_released false: let down at that time. */
struct sh_hold_survival_time {
    double hold_s;
    bool is_released;
};

struct sh_hold_survival {
    size_t n_released;
    size_t n_let_down;
    bool has_median;
    double median_s; /* half of the draws were released by then */
    bool has_lo;
    double lo_s; /* 95 % */
    bool has_hi; /* false: the limit lies beyond the longest hold */
    double hi_s;
};

/*
 * Median by the product-limit estimate (Kaplan & Meier 1958, J Am Stat Assoc 53:457); limits
 * where the estimate's 95 % interval on the scale log(-log S), Greenwood's variance, holds one
 * half (Brookmeyer & Crowley 1982, Biometrics 38:29). A let-down at the same time as a release
 * counts as later. Takes draws as independent; a let-down is hardly so of the hold: the figure
 * is a bound on what let-downs do to the median, no more. times[n] is sorted in place.
 * SH_ERR_NOT_FINITE. Cost: O(n log n).
 */
enum sh_status sh_hold_survival_get(struct sh_hold_survival_time *times,
                                    size_t n,
                                    struct sh_hold_survival *survival);

/* The same of the holds of a set that are known. SH_ERR_MEMORY too. */
enum sh_status sh_hold_survival_get_set(const struct sh_consistency_set *set,
                                        struct sh_hold_survival *survival);

#endif
