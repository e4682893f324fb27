/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_HISTORY_INDEX_INSIDE_H
#define SH_HISTORY_INDEX_INSIDE_H

#include <sqlite3.h>

#include "history/index.h"

/*
 * What the files of the index share and nobody else sees.
 */
struct sh_index {
    sqlite3 *database;
    char path[SH_INDEX_PATH_BYTES];
    sqlite3_stmt *put_recording; /* NULL until first used; so are all */
    sqlite3_stmt *put_shot;
    sqlite3_stmt *put_finding;
    sqlite3_stmt *put_tag;
};

/* The last failure of SQLite as a status, with a line in err. */
enum sh_status sh_index_inside_fail(const struct sh_index *index, struct sh_error *err);

/* Runs statements that give no rows. */
enum sh_status
sh_index_inside_run(const struct sh_index *index, const char *sql, struct sh_error *err);

/* Prepares a statement to be finalized by the caller. */
enum sh_status sh_index_inside_prepare(const struct sh_index *index,
                                       const char *sql,
                                       sqlite3_stmt **out,
                                       struct sh_error *err);

/* Binds a text that stays until the statement is reset. */
void sh_index_inside_bind_text(sqlite3_stmt *statement, int place, const char *text);

/* A content as the tables keep it: eight bytes instead of sixteen digits. And back. */
void sh_index_inside_bind_content(sqlite3_stmt *statement, int place, const char *content);
void sh_index_inside_copy_content(sqlite3_stmt *statement,
                                  int column,
                                  char content[SH_DIGEST_TEXT_BYTES]);

/* Runs a statement that gives no rows, and resets it. */
enum sh_status sh_index_inside_step(const struct sh_index *index,
                                    sqlite3_stmt *statement,
                                    struct sh_error *err);

/* Copies a column of text, cut where it does not fit; "" where it is null. */
void sh_index_inside_copy_text(sqlite3_stmt *statement, int column, char *out, size_t n_bytes);

#endif
