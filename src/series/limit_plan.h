/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SERIES_LIMIT_PLAN_H
#define SH_SERIES_LIMIT_PLAN_H

#include <stdbool.h>
#include <stddef.h>

#include "recording/person.h"

/*
 * Which of a person's limits is in force on a day, and how far its planned weekly progression
 * has got.
 *
 * A limit with a weekly step changes by it every seven days from its first day on. A step that
 * loosens it (a higher "most", a lower "least") waits where there was trouble since the limit
 * began, up to and on that day: a rating that rose, or a limit that was passed. It waits until
 * a person has confirmed on a later day than the last trouble (of one day nobody can tell which
 * came first). Steps that waited are not made up for: the next one comes seven days after the
 * one that was let go on. Steps that tighten a limit never wait. Any thread. Test of all:
 * tests/series/test_limit_plan.c.
 */

/* Days (base/day.h) on which there was trouble, and on which somebody confirmed; any order. */
struct sh_limit_plan_history {
    const int *trouble;
    size_t n_trouble;
    const int *confirmed;
    size_t n_confirmed;
};

struct sh_limit_plan {
    bool is_in_force;
    double value;    /* of most or least on that day, in its unit; 0 at the lowest */
    size_t n_steps;  /* taken so far */
    bool is_waiting; /* a step that is due waits for a confirmation */
    bool has_next;   /* a further step is planned before the limit ends */
    int next_day;    /* its day at the earliest; with has_next */
};

/*
 * Fills *plan for a day. A limit whose dates are no days of the calendar is not in force (its
 * reader refuses such). Cost: O(weeks of the limit x history).
 */
void sh_limit_plan_find(const struct sh_person_limit *limit,
                        const struct sh_limit_plan_history *history,
                        int day,
                        struct sh_limit_plan *plan);

#endif
