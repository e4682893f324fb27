/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_CONSISTENCY_SOURCE_H
#define SH_APP_CONSISTENCY_SOURCE_H

#include "app/history_update.h"
#include "recording/session.h"
#include "series/consistency_set.h"

/* The draws of one athlete, from recordings by name or from all of a home. Test of all:
 * tests/loop/test_consistency.c. */
struct sh_consistency_source {
    struct sh_consistency_set set;        /* owned */
    char (*names)[SH_SESSION_FILE_BYTES]; /* owned, [n]: recordings in order of time */
    const char **name_list;               /* owned, [n] into names */
    size_t n;
    char athlete[SH_SESSION_NAME_BYTES];
};

/*
 * Reads what the words name: folders with recordings in or below them, else one athlete, whose
 * recordings below home/recordings are taken: from the index of the home, brought up to date,
 * or where that cannot be had (unread is told why) from the folders. A recording that is named
 * twice counts once. Of an athlete's recordings those that cannot be read are left out, and
 * unread is told of each; one that is named must be readable. source is to be closed whatever
 * comes back. SH_ERR_ARGUMENT: recordings of two athletes; SH_ERR_NOT_FOUND: none, or an
 * athlete who is hidden; statuses of sh_analysis_store_get and sh_session_json_read.
 */
enum sh_status sh_consistency_source_read(const char *home,
                                          char *const *words,
                                          size_t n_words,
                                          const struct sh_history_update_sink *unread,
                                          struct sh_consistency_source *source,
                                          struct sh_error *err);

/* Frees what it owns and zeroes it. Takes a zeroed one. */
void sh_consistency_source_close(struct sh_consistency_source *source);

#endif
