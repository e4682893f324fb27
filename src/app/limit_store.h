/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_LIMIT_STORE_H
#define SH_APP_LIMIT_STORE_H

#include "app/diary.h"
#include "finding/limit_tally.h"

/*
 * What an athlete has carried before a recording begins: on this day, in this session. From the
 * home's recordings, from what was added by hand, and from the recordings of the same capture
 * that have ended (the archers take turns). Test of all: tests/app/test_limit_store.c.
 */

/* A recording of this capture that has ended. */
struct sh_limit_store_take {
    char athlete[SH_SESSION_NAME_BYTES];
    struct sh_limit_tally tally;
    bool has_rating;
    double rating; /* the last one given */
};

struct sh_limit_store {
    struct sh_limit_store_take *takes; /* owned, in their order */
    size_t n_takes;
    bool is_incomplete; /* a recording could not be kept: nothing before is fully known */
};

/* Keeps an ended recording (copies). SH_ERR_MEMORY, and the store is incomplete. */
enum sh_status sh_limit_store_add(struct sh_limit_store *store,
                                  const struct sh_limit_store_take *take);

/* Frees all and zeroes. Takes a zeroed store. */
void sh_limit_store_close(struct sh_limit_store *store);

/* Whose, when, and which recordings count. Borrows. */
struct sh_limit_store_query {
    const struct sh_diary *diary;
    const struct sh_limit_store *store;
    const char *athlete;
    const char *session; /* ties recordings of an evening; "": only those of this capture */
    int day;
};

/*
 * Fills before, before_u, before_all and before_unknown of a limit on a session or a day. A
 * recording whose draws are not known, and draws added by hand where a force is limited, make
 * them lower bounds.
 */
void sh_limit_store_fill(const struct sh_limit_store_query *query, struct sh_mark *limit);

/* The last rating of the athlete up to and on the day; false, *rating untouched: none. */
bool sh_limit_store_find_rating(const struct sh_limit_store_query *query, double *rating);

#endif
