/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_FORGET_PLAN_H
#define SH_APP_FORGET_PLAN_H

#include <stdbool.h>

#include "app/home.h"
#include "app/recording_list.h"
#include "base/text.h"
#include "recording/recording_remove.h"

/*
 * What there is of an athlete, to be shown before any of it is removed. Test of all:
 * tests/loop/test_forget.c.
 */
struct sh_forget_item {
    const char *folder; /* borrowed from the list */
    struct sh_recording_remove_size size;
};

struct sh_forget_plan {
    struct sh_forget_item *items; /* owned: the athlete's recordings, by path */
    size_t n;
    size_t n_files; /* of all */
    uint64_t n_bytes;
    char person_file[SH_HOME_PATH_BYTES]; /* its path, whether or not it is there */
    bool has_person_file;
    bool is_hidden;        /* already */
    struct sh_text unread; /* whole lines: recordings that do not say whose they are */
};

/*
 * Looks through the list (settled; keeps it) and the people's files, and changes nothing.
 * SH_ERR_NOT_FOUND: there is neither a recording nor a file of the athlete. SH_ERR_ARGUMENT: no
 * name. SH_ERR_MEMORY. To be closed whatever comes back. A person's file that cannot be read is
 * there, and is_hidden false.
 */
enum sh_status sh_forget_plan_make(const struct sh_recording_list *list,
                                   const char *home,
                                   const char *athlete,
                                   struct sh_forget_plan *plan,
                                   struct sh_error *err);

/* Writes what would go, a line each, and the sums. */
void sh_forget_plan_format(const struct sh_forget_plan *plan,
                           const char *athlete,
                           struct sh_text *text);

/* Frees what it owns and zeroes it. Takes a zeroed plan. */
void sh_forget_plan_close(struct sh_forget_plan *plan);

#endif
