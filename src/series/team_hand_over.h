/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SERIES_TEAM_HAND_OVER_H
#define SH_SERIES_TEAM_HAND_OVER_H

#include "series/team_times.h"

/*
 * How long it takes from one archer's last release until the next of the team has taken over:
 * read from recordings in which a running clock went on with another archer, else given. Test
 * of all: tests/series/test_team_hand_over.c.
 */

/* Fewer that were seen do not stand for an archer, or for a team. */
#define SH_TEAM_HAND_OVER_MIN 5u

/* Where an archer's hand-over times come from. */
enum sh_team_hand_over_source {
    SH_TEAM_HAND_OVER_ASSUMED, /* by nobody but the program */
    SH_TEAM_HAND_OVER_GIVEN,   /* by a person */
    SH_TEAM_HAND_OVER_TEAM,    /* seen, of all the team's archers together */
    SH_TEAM_HAND_OVER_OWN      /* seen, of this archer's own */
};

struct sh_team_hand_over {
    enum sh_team_hand_over_source source;
    const double *seen_s; /* kept, [n_seen]: each of them alike likely */
    size_t n_seen;        /* 0: anything from low_s to high_s, each alike likely */
    double low_s;
    double high_s;
};

/*
 * The hand-overs to times[archer] that are seen in the recordings of all: an end whose clock
 * had been running when the archer took over, and the last release under the same clock before
 * that, of anybody (clocks are the same where they began within 2 s of each other). Fills
 * seen_s, room for times[archer]->n_ends, and gives their number. Cost: O(ends of archer x ends
 * of all).
 */
size_t sh_team_hand_over_find(const struct sh_team_times *const *times,
                              size_t n_archers,
                              size_t archer,
                              double *seen_s);

/* Mean of what it stands for, s. */
double sh_team_hand_over_get_mean_s(const struct sh_team_hand_over *hand_over);

/* The one that a number 0 <= u < 1 picks. */
double sh_team_hand_over_pick_s(const struct sh_team_hand_over *hand_over, double u);

#endif
