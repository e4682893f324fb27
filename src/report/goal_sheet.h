/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_REPORT_GOAL_SHEET_H
#define SH_REPORT_GOAL_SHEET_H

#include "base/text.h"
#include "recording/person.h"

/*
 * An athlete's goal for the hold, and the share of her arrows inside it, session by session and
 * month by month: all held against the band that is in force now, so that they can be compared.
 * Test of all: tests/report/test_goal_sheet.c.
 */

/* Recordings of one day and one session's name. */
struct sh_goal_sheet_session {
    int day; /* local (base/day.h) */
    char name[SH_SESSION_NAME_BYTES];
    size_t first; /* of its arrows */
};

/* Borrows all. */
struct sh_goal_sheet {
    const struct sh_person *person;
    const struct sh_goal_sheet_session *sessions; /* [n_sessions], in order of time */
    size_t n_sessions;
    const double *hold_s; /* [n], of all arrows in order of time; NaN where it is not known */
    const size_t *end;    /* [n], equal for arrows of one end, others for other ends */
    size_t n;
};

/* Appends it for a terminal. SH_ERR_MEMORY, SH_ERR_FULL. */
enum sh_status sh_goal_sheet_write_table(const struct sh_goal_sheet *sheet,
                                         struct sh_text *text);

/* The same as JSON, "stringhand-goals" version 1 (docs/goals.md). */
enum sh_status sh_goal_sheet_write_json(const struct sh_goal_sheet *sheet,
                                        struct sh_text *text);

#endif
