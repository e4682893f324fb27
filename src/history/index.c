/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "history/index.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "history/index_inside.h"
#include "history/index_schema.h"

#define PATIENCE_MS 5000
#define PAGE_BYTES  "65536" /* some fifty shots: smaller pages leave more of them empty */
#define TELL_TODO   "delete the file: it is made again from the recordings"

static enum sh_status get_status(int code)
{
    switch (code & 0xff) {
    case SQLITE_NOMEM:
        return SH_ERR_MEMORY;
    case SQLITE_BUSY:
    case SQLITE_LOCKED:
        return SH_ERR_BUSY;
    case SQLITE_PERM:
    case SQLITE_READONLY:
    case SQLITE_AUTH:
        return SH_ERR_PERMISSION;
    case SQLITE_FULL:
        return SH_ERR_FULL;
    case SQLITE_CORRUPT:
    case SQLITE_NOTADB:
        return SH_ERR_FORMAT;
    default:
        return SH_ERR_IO;
    }
}

enum sh_status sh_index_inside_fail(const struct sh_index *index, struct sh_error *err)
{
    const enum sh_status status = get_status(sqlite3_extended_errcode(index->database));
    return sh_error_set(err, status, index->path, status == SH_ERR_FORMAT ? TELL_TODO : NULL,
                        "the history index: %s", sqlite3_errmsg(index->database));
}

enum sh_status
sh_index_inside_run(const struct sh_index *index, const char *sql, struct sh_error *err)
{
    return sqlite3_exec(index->database, sql, NULL, NULL, NULL) == SQLITE_OK
               ? SH_OK
               : sh_index_inside_fail(index, err);
}

enum sh_status sh_index_inside_prepare(const struct sh_index *index,
                                       const char *sql,
                                       sqlite3_stmt **out,
                                       struct sh_error *err)
{
    return sqlite3_prepare_v2(index->database, sql, -1, out, NULL) == SQLITE_OK
               ? SH_OK
               : sh_index_inside_fail(index, err);
}

void sh_index_inside_bind_text(sqlite3_stmt *statement, int place, const char *text)
{
    (void)sqlite3_bind_text(statement, place, text, -1, SQLITE_STATIC);
}

void sh_index_inside_bind_content(sqlite3_stmt *statement, int place, const char *content)
{
    const uint64_t digest = strtoull(content, NULL, 16);
    int64_t bits = 0;
    memcpy(&bits, &digest, sizeof bits);
    (void)sqlite3_bind_int64(statement, place, bits);
}

void sh_index_inside_copy_content(sqlite3_stmt *statement,
                                  int column,
                                  char content[SH_DIGEST_TEXT_BYTES])
{
    const int64_t bits = sqlite3_column_int64(statement, column);
    uint64_t digest = 0;
    memcpy(&digest, &bits, sizeof digest);
    sh_digest_format(digest, content);
}

enum sh_status sh_index_inside_step(const struct sh_index *index,
                                    sqlite3_stmt *statement,
                                    struct sh_error *err)
{
    const bool is_done = sqlite3_step(statement) == SQLITE_DONE;
    const enum sh_status status = is_done ? SH_OK : sh_index_inside_fail(index, err);
    (void)sqlite3_reset(statement);
    (void)sqlite3_clear_bindings(statement);
    return status;
}

void sh_index_inside_copy_text(sqlite3_stmt *statement, int column, char *out, size_t n_bytes)
{
    const unsigned char *text = sqlite3_column_text(statement, column);
    (void)snprintf(out, n_bytes, "%s", text != NULL ? (const char *)text : "");
}

/* The version that the file says its tables have; 0: none yet. */
static enum sh_status
get_version(const struct sh_index *index, int *version, struct sh_error *err)
{
    sqlite3_stmt *statement = NULL;
    enum sh_status status =
        sh_index_inside_prepare(index, "PRAGMA user_version", &statement, err);
    if (status == SH_OK && sqlite3_step(statement) != SQLITE_ROW) {
        status = sh_index_inside_fail(index, err);
    }
    *version = status == SH_OK ? sqlite3_column_int(statement, 0) : 0;
    (void)sqlite3_finalize(statement);
    return status;
}

/* Tables of another version go; nothing is lost by it. */
static enum sh_status make_tables(const struct sh_index *index, struct sh_error *err)
{
    struct sh_text sql;
    sh_text_init(&sql, 0);
    sh_text_puts(&sql, "BEGIN IMMEDIATE;\n"
                       "DROP TABLE IF EXISTS finding;\n"
                       "DROP TABLE IF EXISTS tag;\n"
                       "DROP TABLE IF EXISTS shot;\n"
                       "DROP TABLE IF EXISTS recording;\n");
    sh_index_schema_format(&sql);
    sh_text_printf(&sql, "PRAGMA user_version = %d;\nCOMMIT;", SH_INDEX_VERSION);
    enum sh_status status = sql.status;
    if (status == SH_OK) {
        status = sh_index_inside_run(index, sql.data, err);
    } else {
        (void)sh_error_set(err, status, index->path, NULL, "out of memory");
    }
    if (status != SH_OK) {
        (void)sqlite3_exec(index->database, "ROLLBACK", NULL, NULL, NULL);
    }
    sh_text_close(&sql);
    return status;
}

static enum sh_status set_up(const struct sh_index *index, struct sh_error *err)
{
    int version = 0;
    (void)sqlite3_busy_timeout(index->database, PATIENCE_MS);
    enum sh_status status = sh_index_inside_run(index,
                                                "PRAGMA page_size = " PAGE_BYTES ";"
                                                "PRAGMA journal_mode = WAL;"
                                                "PRAGMA synchronous = NORMAL;"
                                                "PRAGMA foreign_keys = ON;",
                                                err);
    if (status == SH_OK) {
        status = get_version(index, &version, err);
    }
    if (status == SH_OK && version != SH_INDEX_VERSION) {
        status = make_tables(index, err);
    }
    return status;
}

enum sh_status sh_index_open(const char *path, struct sh_index **out, struct sh_error *err)
{
    if (strlen(path) >= SH_INDEX_PATH_BYTES) {
        return sh_error_set(err, SH_ERR_ARGUMENT, path, NULL, "the path is too long");
    }
    struct sh_index *index = calloc(1, sizeof *index);
    if (index == NULL) {
        return sh_error_set(err, SH_ERR_MEMORY, path, NULL, "out of memory");
    }
    (void)snprintf(index->path, sizeof index->path, "%s", path);
    enum sh_status status = SH_OK;
    if (sqlite3_open_v2(path, &index->database,
                        SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE | SQLITE_OPEN_NOMUTEX,
                        NULL) != SQLITE_OK) {
        status = index->database != NULL
                     ? sh_index_inside_fail(index, err)
                     : sh_error_set(err, SH_ERR_MEMORY, path, NULL, "out of memory");
    } else {
        status = set_up(index, err);
    }
    if (status != SH_OK) {
        sh_index_close(&index);
        return status;
    }
    *out = index;
    return SH_OK;
}

void sh_index_close(struct sh_index **index)
{
    if (*index == NULL) {
        return;
    }
    (void)sqlite3_finalize((*index)->put_recording);
    (void)sqlite3_finalize((*index)->put_shot);
    (void)sqlite3_finalize((*index)->put_finding);
    (void)sqlite3_finalize((*index)->put_tag);
    (void)sqlite3_close((*index)->database);
    free(*index);
    *index = NULL;
}

enum sh_status sh_index_begin(struct sh_index *index, struct sh_error *err)
{
    return sh_index_inside_run(index, "BEGIN IMMEDIATE", err);
}

enum sh_status sh_index_commit(struct sh_index *index, struct sh_error *err)
{
    return sh_index_inside_run(index, "COMMIT", err);
}

enum sh_status sh_index_roll_back(struct sh_index *index, struct sh_error *err)
{
    return sh_index_inside_run(index, "ROLLBACK", err);
}

/* Moves the log into the file and empties it; readers of the old state hinder that. */
static enum sh_status empty_log(const struct sh_index *index, struct sh_error *err)
{
    sqlite3_stmt *statement = NULL;
    enum sh_status status =
        sh_index_inside_prepare(index, "PRAGMA wal_checkpoint(TRUNCATE)", &statement, err);
    if (status == SH_OK && sqlite3_step(statement) != SQLITE_ROW) {
        status = sh_index_inside_fail(index, err);
    }
    if (status == SH_OK && sqlite3_column_int(statement, 0) != 0) {
        status = sh_error_set(err, SH_ERR_BUSY, index->path, "end the other, then do it again",
                              "another program reads the history index");
    }
    (void)sqlite3_finalize(statement);
    return status;
}

enum sh_status sh_index_scrub(struct sh_index *index, struct sh_error *err)
{
    const enum sh_status status = sh_index_inside_run(index, "VACUUM", err);
    return status == SH_OK ? empty_log(index, err) : status;
}

enum sh_status sh_index_clear(struct sh_index *index, struct sh_error *err)
{
    return sh_index_inside_run(
        index, "DELETE FROM finding; DELETE FROM shot; DELETE FROM tag; DELETE FROM recording;",
        err);
}
