/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SERIES_LIMIT_DAY_H
#define SH_SERIES_LIMIT_DAY_H

#include "recording/person.h"
#include "series/day_load.h"

/*
 * Whether what a day added up to reached a person's limit, as it can be told afterwards: draws
 * added by hand and recordings made without the limit count too. By the rule of capture: value
 * + 2 u at an upper limit, value - 2 u at a lower one. Test of all:
 * tests/series/test_limit_day.c.
 */
enum sh_limit_day {
    /* nothing was drawn, or a day's sums do not tell of such a limit (a session's, a rest) */
    SH_LIMIT_DAY_NONE,
    SH_LIMIT_DAY_INSIDE,
    SH_LIMIT_DAY_REACHED, /* by what is known of the day, which may not be all */
    SH_LIMIT_DAY_UNKNOWN  /* what is known does not reach it, but not all is known */
};

/*
 * Judges a day by a limit in force whose value, in its own unit, is value on it
 * (series/limit_plan.h). The largest force of a day tells of a limit per shot and per session
 * too; sums, counts and shares only of one per day. A day of which nobody has said anything is
 * unknown. Any thread.
 */
enum sh_limit_day sh_limit_day_judge(const struct sh_person_limit *limit,
                                     double value,
                                     const struct sh_day_load *day);

#endif
