/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SERIES_SCORE_LINK_H
#define SH_SERIES_SCORE_LINK_H

#include "series/consistency_set.h"
#include "signal/rank.h"

/*
 * What goes with the score of single arrows. That two things go together does not say that one
 * makes the other. Test of all: tests/series/test_score_link.c.
 */

/* Published studies explain so much of an arrow's distance from the centre by timing (Callaway
 * et al. 2017, J Sports Sci 35(12)): a correlation of about 0.28. */
#define SH_SCORE_LINK_PUBLISHED_RATIO 0.077

/* Shots with a score, fewer of which give nothing. */
#define SH_SCORE_LINK_SHOTS_MIN 10u

struct sh_score_link {
    bool is_known;
    size_t n;                            /* shots with a score and the measure */
    struct sh_rank_correlation spearman; /* of score and measure; 95 % limits */
    double p_of_all;                     /* adjusted for all measures (Holm 1979) */
    double visible; /* the least |correlation| that so many shots show with chance 0.8 */
};

/*
 * All measures. Shots are taken as independent: where ends differ, the limits are too narrow.
 * SH_ERR_MEMORY. Cost: O(n log n).
 */
enum sh_status sh_score_link_get(const struct sh_consistency_set *set,
                                 struct sh_score_link links[SH_CONSISTENCY_MEASURES]);

/* Shots needed to see a correlation with chance 0.8 at the 5 % level of all five
 * measures, by Fisher's z (Bonett &
 * Wright 2000). 0 < correlation < 1; NaN else. */
double sh_score_link_get_needed(double correlation);

/* Whether there is a link: its limits leave 0 out, and all measures are allowed for. */
bool sh_score_link_is_seen(const struct sh_score_link *link);

#endif
