/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_HISTORY_UPDATE_H
#define SH_APP_HISTORY_UPDATE_H

#include "app/hidden_people.h"
#include "app/recording_list.h"
#include "finding/thresholds.h"
#include "history/index.h"

/*
 * Brings the index of all recordings up to date with their folders. Test of all:
 * tests/app/test_history_update.c.
 */

/* Told of each recording that cannot be read. */
struct sh_history_update_sink {
    void (*failed)(void *context, const struct sh_error *failure);
    void *context;
};

struct sh_history_update_config {
    const struct sh_recording_list *list; /* settled */
    const struct sh_thresholds *thresholds;
    struct sh_hidden_people *hidden;    /* whose recordings are left out; NULL: nobody's */
    struct sh_history_update_sink sink; /* its function may be NULL */
    bool from_nothing; /* all is put anew, in one transaction: until its end the old stands */
};

/* What was done. */
struct sh_history_update_result {
    size_t n_unchanged;
    size_t n_put;     /* new, or changed since */
    size_t n_moved;   /* known from another folder that is gone */
    size_t n_copies;  /* the same recording in another folder: counted once */
    size_t n_failed;  /* could not be read */
    size_t n_hidden;  /* of people who are hidden */
    size_t n_removed; /* their folders are gone, or they are hidden */
    struct sh_error first_failure;
};

/*
 * Puts what is new or changed, follows what was moved, passes over copies (of several folders
 * of one content the one changed last counts, of equals the first by path), and removes what is
 * there no more, and what is of people who are hidden. A recording that cannot be read is
 * counted and left as it was. Killing it at any moment leaves a usable index: each recording is
 * a transaction of its own. The same folders give the same rows. Shows progress on standard
 * error where that is a terminal. Statuses of the index.
 */
enum sh_status sh_history_update_run(struct sh_index *index,
                                     const struct sh_history_update_config *config,
                                     struct sh_history_update_result *result,
                                     struct sh_error *err);

#endif
