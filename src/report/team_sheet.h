/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_REPORT_TEAM_SHEET_H
#define SH_REPORT_TEAM_SHEET_H

#include "series/team_chance.h"

#define SH_TEAM_SHEET_CHANCES_MAX 2u

/* An archer of the team, beside what struct sh_team_plan says. */
struct sh_team_sheet_archer {
    const char *name;
    size_t n_recordings;
    struct sh_team_times_count count; /* of the ends that are used */
    size_t n_dropped;                 /* free ends that are not used: clocked ones are enough */
    size_t n_unknown;                 /* arrows whose time is not known */
};

/* What the ways of writing a team's chances down are given. Borrows all. */
struct sh_team_sheet {
    const char *round; /* name of the format */
    const struct sh_team_sheet_archer *archers;
    size_t n_archers;
    const struct sh_team_chance *chances; /* by arrows a turn, the most first */
    size_t n_chances;                     /* 1 to SH_TEAM_SHEET_CHANCES_MAX */
};

#endif
