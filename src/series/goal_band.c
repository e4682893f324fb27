/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "series/goal_band.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "signal/distribution.h"
#include "signal/stats.h"

#define LOW_SHARE   0.1
#define HIGH_SHARE  0.9
#define PROBABILITY 0.975 /* of a 95 % interval's end */

enum sh_goal_place sh_goal_band_judge(const struct sh_goal_band *band, double hold_s)
{
    if (isnan(hold_s)) {
        return SH_GOAL_UNKNOWN;
    }
    return hold_s < band->least_s  ? SH_GOAL_SHORT
           : hold_s > band->most_s ? SH_GOAL_LONG
                                   : SH_GOAL_INSIDE;
}

const char *sh_goal_band_get_word(enum sh_goal_place place)
{
    static const char *const words[] = {[SH_GOAL_UNKNOWN] = "",
                                        [SH_GOAL_SHORT] = "short",
                                        [SH_GOAL_INSIDE] = "inside",
                                        [SH_GOAL_LONG] = "long"};
    return words[place];
}

const char *sh_goal_band_get_shape(enum sh_goal_place place)
{
    static const char *const shapes[] = {[SH_GOAL_UNKNOWN] = " [ ] ",
                                         [SH_GOAL_SHORT] = "*[ ] ",
                                         [SH_GOAL_INSIDE] = " [*] ",
                                         [SH_GOAL_LONG] = " [ ]*"};
    return shapes[place];
}

/* The holds of arrows that score at least out->score. */
static void choose(const double *hold_s,
                   const double *score,
                   size_t n,
                   double *chosen,
                   size_t *n_chosen,
                   double least)
{
    *n_chosen = 0;
    for (size_t i = 0; i < n; i++) {
        if (score[i] >= least) {
            chosen[(*n_chosen)++] = hold_s[i];
        }
    }
}

static enum sh_status
find_middle(const double *x, size_t n, double *work, struct sh_goal_band *band)
{
    enum sh_status status = sh_stats_get_quantile(x, n, LOW_SHARE, work, &band->least_s);
    if (status == SH_OK) {
        status = sh_stats_get_quantile(x, n, HIGH_SHARE, work, &band->most_s);
    }
    return status == SH_OK && !(band->least_s < band->most_s) ? SH_ERR_ARGUMENT : status;
}

enum sh_status sh_goal_band_find_best(const double *hold_s,
                                      const double *score,
                                      size_t n,
                                      struct sh_goal_best *out)
{
    *out = (struct sh_goal_best){.n_scored = n};
    if (n < SH_GOAL_BAND_SCORED_MIN) {
        return SH_ERR_SHORT;
    }
    double *chosen = malloc(n * sizeof *chosen);
    double *work = malloc(n * sizeof *work);
    enum sh_status status = chosen != NULL && work != NULL ? SH_OK : SH_ERR_MEMORY;
    if (status == SH_OK) {
        memcpy(work, score, n * sizeof *work);
        sh_stats_sort(work, n);
        out->score = work[2 * n / 3];
        choose(hold_s, score, n, chosen, &out->n_best, out->score);
        if (out->n_best == n) {
            status = SH_ERR_ARGUMENT;
        } else if (out->n_best < SH_GOAL_BAND_BEST_MIN) {
            status = SH_ERR_SHORT;
        } else {
            status = find_middle(chosen, out->n_best, work, &out->band);
        }
    }
    free(chosen);
    free(work);
    return status;
}

/* Ends, and the sum over them of (inside - ratio x holds)^2. */
struct ends {
    size_t n;
    double sum;
};

/* Goes through the ends, those without a known hold left out. */
static struct ends
add_up_ends(const enum sh_goal_place *place, const size_t *end, size_t n, double ratio)
{
    struct ends ends = {0};
    for (size_t i = 0; i < n;) {
        const size_t id = end[i];
        double n_known = 0.0;
        double n_inside = 0.0;
        for (; i < n && end[i] == id; i++) {
            n_known += place[i] != SH_GOAL_UNKNOWN ? 1.0 : 0.0;
            n_inside += place[i] == SH_GOAL_INSIDE ? 1.0 : 0.0;
        }
        const double off = n_inside - ratio * n_known;
        ends.n += n_known > 0.0 ? 1 : 0;
        ends.sum += off * off;
    }
    return ends;
}

/* Holds that are worth as much as the n would be if ends were not alike. */
static double find_effective(const struct ends *ends, size_t n, double ratio)
{
    const double holds = (double)n;
    const double n_ends = (double)ends->n;
    const double alone = ratio * (1.0 - ratio) / holds; /* variance without ends */
    const double variance = n_ends / (n_ends - 1.0) * ends->sum / (holds * holds);
    const double effect = alone > 0.0 ? fmax(variance / alone, 1.0) : 1.0;
    const double t_ratio = sh_distribution_get_t_quantile(PROBABILITY, holds - 1.0) /
                           sh_distribution_get_t_quantile(PROBABILITY, n_ends - 1.0);
    return holds / effect * t_ratio * t_ratio;
}

static void find_interval(double n, struct sh_goal_share *out)
{
    const double z = sh_distribution_get_normal_quantile(PROBABILITY);
    const double p = out->ratio;
    const double below = 1.0 + z * z / n;
    const double middle = (p + z * z / (2.0 * n)) / below;
    const double half = z / below * sqrt(p * (1.0 - p) / n + z * z / (4.0 * n * n));
    out->lo = fmax(middle - half, 0.0);
    out->hi = fmin(middle + half, 1.0);
    out->has_interval = true;
}

void sh_goal_band_find_share(const enum sh_goal_place *place,
                             const size_t *end,
                             size_t n,
                             struct sh_goal_share *out)
{
    *out = (struct sh_goal_share){0};
    for (size_t i = 0; i < n; i++) {
        out->n += place[i] != SH_GOAL_UNKNOWN ? 1 : 0;
        out->n_short += place[i] == SH_GOAL_SHORT ? 1 : 0;
        out->n_inside += place[i] == SH_GOAL_INSIDE ? 1 : 0;
        out->n_long += place[i] == SH_GOAL_LONG ? 1 : 0;
    }
    if (out->n == 0) {
        return;
    }
    out->ratio = (double)out->n_inside / (double)out->n;
    const struct ends ends = add_up_ends(place, end, n, out->ratio);
    out->n_ends = ends.n;
    if (ends.n >= 2) {
        find_interval(find_effective(&ends, out->n, out->ratio), out);
    }
}
