/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_ATHLETE_LIST_H
#define SH_APP_ATHLETE_LIST_H

#include "app/history_update.h"
#include "app/recording_list.h"
#include "recording/session.h"

/* One athlete's recordings, by their folders or by name. Test of all:
 * tests/loop/test_consistency.c, tests/loop/test_team.c. */
struct sh_athlete_list_entry {
    const char *folder; /* owned by the list */
    char athlete[SH_SESSION_NAME_BYTES];
    char started[SH_SESSION_NAME_BYTES];
};

struct sh_athlete_list {
    struct sh_recording_list folders;      /* owned */
    struct sh_athlete_list_entry *entries; /* owned, [n] in order of time */
    size_t n;
};

/* Where athletes are looked for, and who is told of what cannot be read. */
struct sh_athlete_list_place {
    const char *home;                            /* whose people may be hidden */
    const char *recordings;                      /* the folder of an athlete's recordings */
    const struct sh_history_update_sink *unread; /* its function is not NULL */
};

/* Does a sole word name an athlete, there being no such folder? */
bool sh_athlete_list_is_name(char *const *words, size_t n_words);

/*
 * Finds what the words name: folders with recordings in or below them, else one athlete, whose
 * recordings in or below the place's are taken. A recording that is named twice counts once; of
 * an athlete's, those that cannot be read are left out, and unread is told of each. On SH_OK
 * there is one at least. The list is to be closed whatever comes back. SH_ERR_ARGUMENT:
 * recordings of two athletes; SH_ERR_NOT_FOUND: none, or an athlete who is hidden;
 * SH_ERR_MEMORY; statuses of sh_recording_list_add and sh_session_json_read.
 */
enum sh_status sh_athlete_list_find(const struct sh_athlete_list_place *place,
                                    char *const *words,
                                    size_t n_words,
                                    struct sh_athlete_list *list,
                                    struct sh_error *err);

/* Frees what it owns and zeroes it. Takes a zeroed one. */
void sh_athlete_list_close(struct sh_athlete_list *list);

#endif
