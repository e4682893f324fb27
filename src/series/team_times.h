/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SERIES_TEAM_TIMES_H
#define SH_SERIES_TEAM_TIMES_H

#include <stdbool.h>
#include <stddef.h>

#include "base/status.h"
#include "finding/analysis.h"
#include "recording/mark.h"

/*
 * How long one archer takes for an arrow, end by end: what a team's time is made of. Test of
 * all: tests/series/test_team_times.c.
 *
 * The time of an arrow runs from the release before it to its own. That of an end's first arrow
 * runs from the clock's start, or from the moment at which the archer took over a clock that
 * was running; without a clock it is not known: the pause between ends is nobody's shooting.
 * What a let-down costs runs from its draw start to that of the next draw and is not part of
 * the arrow's time. Uncertainties of the events, some milliseconds, are left out.
 */

/* Fewer arrows with a time, or ends with one, say nothing about an archer: of three ends 95 %
 * intervals held some 80 %. */
#define SH_TEAM_TIMES_ARROWS_MIN 10u
#define SH_TEAM_TIMES_ENDS_MIN   5u

/* What an end's first arrow followed. */
enum sh_team_first {
    SH_TEAM_FIRST_START,     /* the clock's start */
    SH_TEAM_FIRST_HAND_OVER, /* taking over from another */
    SH_TEAM_FIRST_KINDS      /* none: its time is not known */
};

struct sh_team_end {
    enum sh_team_first first;
    double first_s;  /* time of the first arrow, where first is a kind */
    size_t next;     /* its further arrows' times: times->next_s[next] and following */
    size_t n_next;   /* how many */
    size_t cost;     /* its let-downs' costs: times->cost_s[cost] and following */
    size_t n_costs;  /* how many are known */
    size_t n_arrows; /* shot, with or without a known time */
    size_t n_let_downs;
    bool is_clocked;
    double clock_at_s; /* when its clock began, s of any calendar; NaN: not known */
    double taken_s;    /* what had run of the clock as the archer took over; 0: it began then */
    double last_s;     /* what had run at the last release; NaN: not known */
};

struct sh_team_times {
    struct sh_team_end *ends; /* owned, in order of time; such with neither arrow nor let-down
                                 are left out */
    size_t n_ends;
    double *next_s; /* owned */
    size_t n_next;
    double *cost_s; /* owned */
    size_t n_costs;
    size_t n_unknown; /* arrows whose time is not known, first arrows of free ends apart */
};

/* Totals of the ends that are there. */
struct sh_team_times_count {
    size_t n_first[SH_TEAM_FIRST_KINDS];
    size_t n_next;
    size_t n_timed_ends; /* with an arrow whose time is known */
    size_t n_free_ends;  /* of those, without a clock */
    size_t n_arrows;
    size_t n_let_downs;
    size_t n_costs;
};

/*
 * Appends a recording's ends. started_s: when it began, s of any calendar that all recordings
 * share, or NaN. SH_ERR_MEMORY: times is as it was. Cost: O(draws x marks).
 */
enum sh_status sh_team_times_add(struct sh_team_times *times,
                                 const struct sh_analysis *analysis,
                                 const struct sh_mark *marks,
                                 size_t n_marks,
                                 double started_s);

/*
 * Drops the ends that were shot without a clock where those under one are enough by themselves
 * (SH_TEAM_TIMES_ARROWS_MIN, SH_TEAM_TIMES_ENDS_MIN); gives how many were dropped.
 */
size_t sh_team_times_drop_free(struct sh_team_times *times);

/* Counts what is there. */
struct sh_team_times_count sh_team_times_get_count(const struct sh_team_times *times);

/* Whether that is enough to say anything. */
bool sh_team_times_is_enough(const struct sh_team_times_count *count);

/* Frees what it owns and zeroes it. Takes zeroed times. */
void sh_team_times_close(struct sh_team_times *times);

#endif
