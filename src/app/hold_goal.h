/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_HOLD_GOAL_H
#define SH_APP_HOLD_GOAL_H

#include "recording/person.h"
#include "series/goal_band.h"

/*
 * The band in force for an athlete's hold, as kept in the person's file, for whatever shows it
 * while shooting. Test of all: tests/app/test_hold_goal.c.
 */
struct sh_hold_goal {
    bool is_set;
    struct sh_goal_band band;
    char set_by[SH_MARK_TEXT_BYTES]; /* who, in their own words; "": was not said */
};

/* A hold is shorter than this, s: the largest end of a band that may be set. */
#define SH_HOLD_GOAL_MAX_S 60.0

/*
 * The goal of an athlete of a home. None for "", for a person without a file, and where the
 * file cannot be read: who watches the limits says so.
 */
struct sh_hold_goal sh_hold_goal_read(const char *home, const char *athlete);

/*
 * Puts a goal into the athlete's file from today on, or with is_set false ends the one in
 * force; the one before stays there with its end. SH_ERR_ARGUMENT: no band of up to
 * SH_HOLD_GOAL_MAX_S, or nobody shoots; SH_ERR_NOT_FOUND: there is none to end; statuses of
 * sh_person_file_edit.
 */
enum sh_status sh_hold_goal_write(const char *home,
                                  const char *athlete,
                                  const struct sh_hold_goal *goal,
                                  struct sh_error *err);

#endif
