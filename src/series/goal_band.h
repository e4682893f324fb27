/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SERIES_GOAL_BAND_H
#define SH_SERIES_GOAL_BAND_H

#include <stdbool.h>
#include <stddef.h>

#include "base/status.h"

/*
 * The band in which an athlete wants her holds to lie: where a hold is to it, where the band
 * may be taken from, and the share of holds inside. Test of all: tests/series/test_goal_band.c.
 */
enum sh_goal_place { SH_GOAL_UNKNOWN, SH_GOAL_SHORT, SH_GOAL_INSIDE, SH_GOAL_LONG };

struct sh_goal_band {
    double least_s;
    double most_s; /* above least_s */
};

/* Where a hold is; both ends are inside. SH_GOAL_UNKNOWN of NaN. */
enum sh_goal_place sh_goal_band_judge(const struct sh_goal_band *band, double hold_s);

/* "short", "inside", "long"; "" where it is unknown. Static. */
const char *sh_goal_band_get_word(enum sh_goal_place place);

/* The same as a shape, five columns of ASCII: a star before, between or behind two brackets.
 * Static. */
const char *sh_goal_band_get_shape(enum sh_goal_place place);

#define SH_GOAL_BAND_SCORED_MIN 30u /* arrows, below which no band is taken from them */
#define SH_GOAL_BAND_BEST_MIN   20u

/* A band from an athlete's own arrows. */
struct sh_goal_best {
    struct sh_goal_band band;
    size_t n_scored;
    size_t n_best;
    double score; /* of the best arrows, at least */
};

/*
 * The middle 80 % (from the 10th to the 90th percentile, type 7 of Hyndman and Fan 1996) of the
 * holds of the best arrows: those that score at least what the best third does. hold_s, score
 * [n], all finite; *out is filled as far as it is known. SH_ERR_SHORT: fewer than
 * SH_GOAL_BAND_SCORED_MIN arrows or SH_GOAL_BAND_BEST_MIN of the best. SH_ERR_ARGUMENT: all
 * arrows score the same, so that none are the best, or all their holds are the same.
 * SH_ERR_MEMORY. Cost: O(n log n).
 */
enum sh_status sh_goal_band_find_best(const double *hold_s,
                                      const double *score,
                                      size_t n,
                                      struct sh_goal_best *out);

/* How many of some holds lie inside. */
struct sh_goal_share {
    size_t n; /* holds that are known */
    size_t n_short;
    size_t n_inside;
    size_t n_long;
    size_t n_ends;     /* with such a hold */
    double ratio;      /* inside; where n > 0 */
    bool has_interval; /* two ends at least: one says nothing of the spread between them */
    double lo;         /* of the 95 % interval */
    double hi;
};

/*
 * Adds up place [n], end [n] (equal numbers in a row are one end). The interval is Wilson's
 * (1927) at the effective number of holds: arrows of one end are alike, so n is divided by the
 * design effect of the ends, at least 1, and by the squared ratio of Student's quantiles with
 * n - 1 and n_ends - 1 degrees (Korn and Graubard 1998, Survey Methodology 24, 193). Cost:
 * O(n). Any thread.
 */
void sh_goal_band_find_share(const enum sh_goal_place *place,
                             const size_t *end,
                             size_t n,
                             struct sh_goal_share *out);

#endif
