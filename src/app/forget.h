/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_FORGET_H
#define SH_APP_FORGET_H

#include "app/forget_plan.h"

/*
 * Hides an athlete, or removes all there is of her: the folders of her recordings, her file,
 * the rows of the index, in that order. Test of all:
 * tests/loop/test_forget.c.
 */

/* Marks the person's file with the day, and takes the athlete's rows out of the index. Statuses
 * of sh_person_file_edit and of the index. */
enum sh_status sh_forget_hide(const char *home, const char *athlete, struct sh_error *err);

/* Takes the mark back; the next run of the index brings the rows. SH_ERR_NOT_FOUND: the athlete
 * is not hidden. Statuses of sh_person_file_edit. */
enum sh_status sh_forget_unhide(const char *home, const char *athlete, struct sh_error *err);

/* What was done. */
struct sh_forget_result {
    size_t n_removed; /* recordings */
    size_t n_failed;
    struct sh_text failures; /* owned: a line each; to be closed */
};

/*
 * Removes what the plan holds. A recording that cannot be removed is counted and stays, and so
 * then does the person's file with its mark: the athlete is hidden until the next run. Cut off
 * at any moment it leaves recordings that are whole, or ones that say whose they are and go
 * with the next run, and an index that the next run of it puts right. The athlete should have
 * been hidden before. *result is to be closed whatever comes back. SH_OK also where recordings
 * stay; SH_ERR_IO, SH_ERR_PERMISSION of the person's file; statuses of the index.
 */
enum sh_status sh_forget_remove(const char *home,
                                const char *athlete,
                                const struct sh_forget_plan *plan,
                                struct sh_forget_result *result,
                                struct sh_error *err);

#endif
