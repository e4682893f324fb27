/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SERIES_SCORE_ODDS_H
#define SH_SERIES_SCORE_ODDS_H

#include "series/consistency_set.h"
#include "signal/ordinal.h"

/*
 * What goes with the score when all measures are looked at together: proportional odds
 * (McCullagh 1980; signal/ordinal.h) of a higher score. Beside the correlations of
 * score_link.h, which take one measure at a time, it says what is left of a measure with the
 * others held the same. That two things go together does not say that one makes the other. Test
 * of all: tests/series/test_score_odds.c.
 */

/* A measure is looked at where so large a share of the shots with a score show it. */
#define SH_SCORE_ODDS_SHOWN_RATIO 0.8

/* Shots for each measure that is looked at, fewer of which give nothing: with fewer events a
 * term, logistic regressions were found biased (Peduzzi et al. 1996, J Clin Epidemiol 49:1373).
 */
#define SH_SCORE_ODDS_SHOTS_A_TERM 10u

enum sh_score_odds_why {
    SH_SCORE_ODDS_KNOWN,
    SH_SCORE_ODDS_FEW,    /* shots: n_least would do */
    SH_SCORE_ODDS_ALIKE,  /* no two scores differ, or no measure is shown by enough shots */
    SH_SCORE_ODDS_LEVELS, /* more different scores than SH_ORDINAL_LEVELS_MAX */
    SH_SCORE_ODDS_PARTED  /* measures that go together wholly, or part the scores wholly */
};

/* One measure, the others held the same. */
struct sh_score_odds_term {
    bool is_in;
    double sd;    /* of the measure, in its unit */
    double ratio; /* of the odds of a higher score, for one SD more of the measure */
    double lo;    /* 95 % limits */
    double hi;
    double p;
    double p_of_all; /* adjusted for all measures that are looked at (Holm 1979) */
    double visible;  /* the least ratio above 1 that so many shots show with chance 0.8 */
};

struct sh_score_odds {
    enum sh_score_odds_why why;
    size_t n; /* shots that show the score and all measures that are looked at */
    size_t n_least;
    size_t n_levels;
    struct sh_score_odds_term term[SH_CONSISTENCY_MEASURES];
    /* Shots like these that show a link as strong as published (SH_SCORE_LINK_PUBLISHED_RATIO)
     * of the measure that shows least, with chance 0.8. */
    double n_needed;
};

/*
 * Works it out. Shots are taken as independent: where ends differ in scores and in measures,
 * the limits are too narrow. SH_ERR_MEMORY. Cost: some 10 n (measures + levels)^2.
 */
enum sh_status sh_score_odds_get(const struct sh_consistency_set *set,
                                 struct sh_score_odds *odds);

/* Whether a measure goes with the score: its limits leave 1 out, and all are allowed for. */
bool sh_score_odds_is_seen(const struct sh_score_odds_term *term);

#endif
