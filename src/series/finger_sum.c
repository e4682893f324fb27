/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "series/finger_sum.h"

#include <math.h>

#include "signal/distribution.h"
#include "signal/stats.h"

#define UPPER_99       0.995
#define MAD_EFFICIENCY 0.37
#define MEDIAN_RATIO   1.2533 /* sqrt(pi / 2) */

bool sh_finger_sum_find(const struct sh_quantity *ratio,
                        size_t n,
                        double *work,
                        struct sh_finger_sum_usual *usual)
{
    struct sh_finger_sum_usual got = {.n = 0};
    double mad = 0.0;
    for (size_t i = 0; i < n; i++) {
        if (sh_quantity_is_known(&ratio[i])) {
            work[got.n++] = ratio[i].value;
        }
    }
    if (got.n < SH_FINGER_SUM_SHOTS_MIN ||
        sh_stats_get_median(work, got.n, work + n, &got.ratio, &mad) != SH_OK) {
        return false;
    }
    got.spread = SH_STATS_MAD_TO_SD * mad;
    got.reach_t =
        sh_distribution_get_t_quantile(UPPER_99, MAD_EFFICIENCY * ((double)got.n - 1.0));
    *usual = got;
    return true;
}

bool sh_finger_sum_is_apart(const struct sh_finger_sum_usual *usual,
                            const struct sh_quantity *ratio)
{
    if (!sh_quantity_is_known(ratio)) {
        return false;
    }
    const double median_u = MEDIAN_RATIO * usual->spread / sqrt((double)usual->n);
    const double all = hypot(hypot(usual->spread, median_u), ratio->u);
    return fabs(ratio->value - usual->ratio) > usual->reach_t * all;
}

bool sh_finger_sum_find_past(const struct sh_finger_sum_usual *sessions,
                             size_t n,
                             struct sh_finger_sum_past *past)
{
    if (n < SH_FINGER_SUM_SESSIONS_MIN) {
        return false;
    }
    double mean = 0.0;
    double squares = 0.0;
    double shot_squares = 0.0;
    for (size_t i = 0; i < n; i++) {
        mean += sessions[i].ratio / (double)n;
        shot_squares += sessions[i].spread * sessions[i].spread;
    }
    for (size_t i = 0; i < n; i++) {
        squares += (sessions[i].ratio - mean) * (sessions[i].ratio - mean);
    }
    *past = (struct sh_finger_sum_past){
        .n_sessions = n,
        .ratio = mean,
        .spread = sqrt(squares / ((double)n - 1.0)),
        .shot_spread = sqrt(shot_squares / (double)n),
        .reach_t = sh_distribution_get_t_quantile(UPPER_99, (double)n - 1.0)};
    return true;
}

bool sh_finger_sum_is_apart_from_past(const struct sh_finger_sum_past *past,
                                      const struct sh_quantity *ratio)
{
    if (past->n_sessions == 0 || !sh_quantity_is_known(ratio)) {
        return false;
    }
    const double between = past->spread * sqrt(1.0 + 1.0 / (double)past->n_sessions);
    const double all = hypot(hypot(between, past->shot_spread), ratio->u);
    return fabs(ratio->value - past->ratio) > past->reach_t * all;
}
