/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_CONSISTENCY_SOURCE_H
#define SH_APP_CONSISTENCY_SOURCE_H

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
 * recordings below home/recordings are taken. A recording that is named twice counts once.
 * source is to be closed whatever comes back. SH_ERR_ARGUMENT: recordings of two athletes;
 * SH_ERR_NOT_FOUND: none; statuses of sh_analysis_store_get and sh_session_json_read.
 */
enum sh_status sh_consistency_source_read(const char *home,
                                          char *const *words,
                                          size_t n_words,
                                          struct sh_consistency_source *source,
                                          struct sh_error *err);

/* Frees what it owns and zeroes it. Takes a zeroed one. */
void sh_consistency_source_close(struct sh_consistency_source *source);

#endif
