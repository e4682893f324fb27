/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_GOAL_SOURCE_H
#define SH_APP_GOAL_SOURCE_H

#include "history/index_query.h"
#include "report/goal_sheet.h"
#include "series/goal_band.h"

/*
 * The holds of an athlete's arrows, all of them, from the index. Test of all:
 * tests/loop/test_goals.c.
 */
struct sh_goal_source {
    struct sh_goal_sheet_session *sessions; /* owned */
    size_t n_sessions;
    double *hold_s; /* owned, [n]; NaN where it is not known */
    double *score;  /* owned, [n]; NaN where none was entered */
    size_t *end;    /* owned, [n] */
    size_t n;
};

/*
 * Reads them: shots, no let-downs and no unresolved draws. source is to be closed whatever
 * comes back. Statuses of sh_index_query_shots; SH_ERR_MEMORY. An athlete of whom nothing is
 * known has no arrows.
 */
enum sh_status sh_goal_source_read(struct sh_index *index,
                                   const char *athlete,
                                   struct sh_goal_source *source,
                                   struct sh_error *err);

/*
 * The band of the best arrows (sh_goal_band_find_best) among those with a hold and a score.
 * Statuses of that, with a line for people: SH_ERR_SHORT, SH_ERR_ARGUMENT, SH_ERR_MEMORY.
 */
enum sh_status sh_goal_source_find_best(const struct sh_goal_source *source,
                                        const char *athlete,
                                        struct sh_goal_best *best,
                                        struct sh_error *err);

/* Frees what it owns and zeroes it. Takes a zeroed source. */
void sh_goal_source_close(struct sh_goal_source *source);

#endif
