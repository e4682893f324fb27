/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SERIES_CONSISTENCY_STUDY_H
#define SH_SERIES_CONSISTENCY_STUDY_H

#include "series/clock_effect.h"
#include "series/consistency.h"
#include "series/hold_survival.h"
#include "series/score_link.h"
#include "series/score_odds.h"

/* All that is told of a set of draws. Test: tests/series/test_consistency_study.c. */
struct sh_consistency_study {
    const struct sh_consistency_set *set; /* kept */
    struct sh_consistency_config config;
    struct sh_consistency steady[SH_CONSISTENCY_MEASURES];
    struct sh_clock_effect clock[SH_CONSISTENCY_MEASURES];
    struct sh_clock_effect last[SH_CONSISTENCY_MEASURES]; /* last arrow less first */
    struct sh_clock_effect per_arrow[SH_CONSISTENCY_MEASURES];
    struct sh_consistency_figure hold_per_second; /* of the clock's time left */
    struct sh_hold_survival survival;
    struct sh_score_link links[SH_CONSISTENCY_MEASURES];
    struct sh_score_odds odds;
};

/*
 * Works all of it out; arrows: those that the clock's effect is looked for in. The
 * probabilities of clock, of last, of per_arrow, of links and of odds are adjusted for the
 * measures of each. study is to be closed whatever comes back. Statuses and cost of the parts.
 */
enum sh_status sh_consistency_study_open(const struct sh_consistency_set *set,
                                         const struct sh_consistency_config *config,
                                         const struct sh_clock_effect_arrows *arrows,
                                         struct sh_consistency_study *study);

/* Frees what it owns and zeroes it. Takes a zeroed one. */
void sh_consistency_study_close(struct sh_consistency_study *study);

#endif
