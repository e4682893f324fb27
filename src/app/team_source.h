/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_TEAM_SOURCE_H
#define SH_APP_TEAM_SOURCE_H

#include "app/athlete_list.h"
#include "recording/session.h"
#include "report/team_sheet.h"

/* A team's archers and their times, from recordings. Test of all: tests/app/test_team_source.c,
 * tests/loop/test_team.c. */

/* Hand-overs that nobody has seen or given, s: own choice. */
#define SH_TEAM_SOURCE_HAND_OVER_LOW_S  3.0
#define SH_TEAM_SOURCE_HAND_OVER_HIGH_S 6.0
#define SH_TEAM_SOURCE_HAND_OVER_MAX_S  600.0

/* What a person said of hand-overs: to one archer, or to all. */
struct sh_team_source_hand_over {
    char athlete[SH_SESSION_NAME_BYTES]; /* "": all */
    double low_s;
    double high_s;
};

struct sh_team_source {
    size_t n;
    struct sh_team_times times[SH_TEAM_PLAN_ARCHERS_MAX]; /* owned */
    char names[SH_TEAM_PLAN_ARCHERS_MAX][SH_SESSION_NAME_BYTES];
    double *seen_s[SH_TEAM_PLAN_ARCHERS_MAX]; /* owned: hand-overs to each archer */
    size_t n_seen[SH_TEAM_PLAN_ARCHERS_MAX];
    double *all_seen_s; /* owned: to any */
    size_t n_all_seen;
    struct sh_team_archer archers[SH_TEAM_PLAN_ARCHERS_MAX];     /* into the above */
    struct sh_team_sheet_archer sheet[SH_TEAM_PLAN_ARCHERS_MAX]; /* into the above */
};

/*
 * "4", "3-6", "wren=4" or "wren=3-6": seconds, 0 to SH_TEAM_SOURCE_HAND_OVER_MAX_S.
 * SH_ERR_ARGUMENT, with where in err.
 */
enum sh_status sh_team_source_parse_hand_over(const char *word,
                                              const char *where,
                                              struct sh_team_source_hand_over *out,
                                              struct sh_error *err);

/*
 * Reads each word's recordings (see sh_athlete_list_find: a folder, or an athlete whose
 * recordings lie below the place's), 1 to SH_TEAM_PLAN_ARCHERS_MAX words. *source stays where
 * it is: it points into itself. It is to be closed whatever comes back. SH_ERR_ARGUMENT: an
 * archer twice; SH_ERR_SHORT: one with too few arrows, which err counts; SH_ERR_MEMORY;
 * statuses of sh_athlete_list_find and sh_analysis_store_get.
 */
enum sh_status sh_team_source_read(const struct sh_athlete_list_place *place,
                                   char *const *words,
                                   size_t n_words,
                                   struct sh_team_source *source,
                                   struct sh_error *err);

/*
 * Sets where each archer's hand-overs come from: what was given for her, else for all; else
 * what was seen of her own, else of the team (SH_TEAM_HAND_OVER_MIN each); else what the
 * program assumes. SH_ERR_ARGUMENT: one is given for an archer who is not in the team.
 */
enum sh_status sh_team_source_set_hand_overs(struct sh_team_source *source,
                                             const struct sh_team_source_hand_over *given,
                                             size_t n_given,
                                             struct sh_error *err);

/* Frees what it owns and zeroes it. Takes a zeroed one. */
void sh_team_source_close(struct sh_team_source *source);

#endif
