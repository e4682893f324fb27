/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "history/index_query.h"

#include <string.h>

#include "base/text.h"
#include "history/index_inside.h"
#include "history/index_schema.h"

#define RECORDING_COLUMNS                                                                      \
    "content, folder, stamp_ns, program, started, utc_offset_min, session, athlete, bow, "     \
    "channels, duration_s, n_shots"
#define RECORDING_ROW "SELECT " RECORDING_COLUMNS " FROM recording "
#define FILTER                                                                                 \
    "WHERE (?1 IS NULL OR athlete = ?1) AND (?2 IS NULL OR bow = ?2) "                         \
    "AND (?3 IS NULL OR channels = ?3) AND (?4 IS NULL OR started >= ?4) "                     \
    "AND (?5 IS NULL OR started < ?5) "

/* Columns of a shot's answer before the measures. */
#define SHOT_COLUMNS 13

static void read_entry(sqlite3_stmt *statement, struct sh_index_entry *out)
{
    struct sh_index_recording *recording = &out->recording;
    *out = (struct sh_index_entry){.duration_s = sqlite3_column_double(statement, 10),
                                   .n_shots = (size_t)sqlite3_column_int64(statement, 11)};
    sh_index_inside_copy_content(statement, 0, recording->content);
    sh_index_inside_copy_text(statement, 1, recording->folder, sizeof recording->folder);
    recording->stamp_ns = sqlite3_column_int64(statement, 2);
    sh_index_inside_copy_text(statement, 3, recording->program, sizeof recording->program);
    sh_index_inside_copy_text(statement, 4, recording->started, sizeof recording->started);
    recording->utc_offset_min = sqlite3_column_int(statement, 5);
    sh_index_inside_copy_text(statement, 6, recording->session, sizeof recording->session);
    sh_index_inside_copy_text(statement, 7, recording->athlete, sizeof recording->athlete);
    sh_index_inside_copy_text(statement, 8, recording->bow, sizeof recording->bow);
    sh_index_inside_copy_text(statement, 9, recording->channels, sizeof recording->channels);
}

static bool find(const struct sh_index *index,
                 const char *sql,
                 void (*bind)(sqlite3_stmt *statement, int place, const char *key),
                 const char *key,
                 struct sh_index_recording *out,
                 enum sh_status *status)
{
    sqlite3_stmt *statement = NULL;
    struct sh_index_entry entry;
    *status = sh_index_inside_prepare(index, sql, &statement, NULL);
    bool is_found = false;
    if (*status == SH_OK) {
        bind(statement, 1, key);
        const int code = sqlite3_step(statement);
        is_found = code == SQLITE_ROW;
        if (is_found) {
            read_entry(statement, &entry);
            *out = entry.recording;
        } else if (code != SQLITE_DONE) {
            *status = sh_index_inside_fail(index, NULL);
        }
    }
    (void)sqlite3_finalize(statement);
    return is_found;
}

bool sh_index_find_folder(struct sh_index *index,
                          const char *folder,
                          struct sh_index_recording *out,
                          enum sh_status *status)
{
    return find(index, RECORDING_ROW "WHERE folder = ?1", sh_index_inside_bind_text, folder,
                out, status);
}

bool sh_index_find_content(struct sh_index *index,
                           const char *content,
                           struct sh_index_recording *out,
                           enum sh_status *status)
{
    return find(index, RECORDING_ROW "WHERE content = ?1", sh_index_inside_bind_content,
                content, out, status);
}

static void bind_filter(sqlite3_stmt *statement, const struct sh_index_filter *filter)
{
    const char *const texts[] = {filter->athlete, filter->bow, filter->channels, filter->from,
                                 filter->until};
    for (int i = 0; i < 5; i++) {
        if (texts[i] != NULL && texts[i][0] != '\0') {
            sh_index_inside_bind_text(statement, i + 1, texts[i]);
        }
    }
}

/* Steps to the next row; false at the end, and where that failed (*status tells). */
static bool step_row(const struct sh_index *index,
                     sqlite3_stmt *statement,
                     enum sh_status *status,
                     struct sh_error *err)
{
    const int code = *status == SH_OK ? sqlite3_step(statement) : SQLITE_DONE;
    if (code != SQLITE_ROW && code != SQLITE_DONE) {
        *status = sh_index_inside_fail(index, err);
    }
    return code == SQLITE_ROW;
}

/* A sink's failure comes without a line. */
static enum sh_status tell(enum sh_status status, struct sh_error *err)
{
    return status == SH_OK
               ? SH_OK
               : sh_error_set(err, status, "history", NULL, "%s", sh_status_text(status));
}

enum sh_status sh_index_query_recordings(struct sh_index *index,
                                         const struct sh_index_filter *filter,
                                         const struct sh_index_entry_sink *sink,
                                         struct sh_error *err)
{
    sqlite3_stmt *statement = NULL;
    enum sh_status status = sh_index_inside_prepare(
        index, RECORDING_ROW FILTER "ORDER BY started, content", &statement, err);
    if (status == SH_OK) {
        bind_filter(statement, filter);
    }
    while (step_row(index, statement, &status, err)) {
        struct sh_index_entry entry;
        read_entry(statement, &entry);
        status = sink->take(sink->context, &entry);
    }
    (void)sqlite3_finalize(statement);
    return tell(status, err);
}

static void format_shots(const struct sh_index_query *query, struct sh_text *sql)
{
    sh_text_puts(sql, "SELECT shot.content, started, athlete, n, kind, end_number, "
                      "arrow_number, clocked, score, full_draw_s, full_draw_u_s, let_down_s, "
                      "let_down_u_s");
    for (size_t i = 0; i < query->n_places; i++) {
        for (int suffix = 0; suffix < SH_CATALOG_SUFFIX_COUNT; suffix++) {
            sh_text_puts(sql, ", ");
            sh_index_schema_format_column(query->place[i].measure, query->place[i].part,
                                          (enum sh_catalog_suffix)suffix, sql);
        }
    }
    sh_text_puts(sql, " FROM recording JOIN shot ON shot.content = recording.content " FILTER
                      "ORDER BY started, shot.content, n");
}

static enum sh_shot_kind read_kind(sqlite3_stmt *statement, int column)
{
    const unsigned char *name = sqlite3_column_text(statement, column);
    for (int kind = 0; name != NULL && kind < SH_SHOT_UNRESOLVED; kind++) {
        if (strcmp((const char *)name, sh_shot_kind_name((enum sh_shot_kind)kind)) == 0) {
            return (enum sh_shot_kind)kind;
        }
    }
    return SH_SHOT_UNRESOLVED;
}

/* A value and its uncertainty from two columns in a row. */
static struct sh_quantity read_event(sqlite3_stmt *statement, int column)
{
    return sqlite3_column_type(statement, column) == SQLITE_NULL
               ? sh_quantity_unknown(SH_WHY_NOT_ASKED)
               : sh_quantity_known(sqlite3_column_double(statement, column),
                                   sqlite3_column_double(statement, column + 1));
}

/* A quantity from four columns in a row. */
static struct sh_quantity read_quantity(sqlite3_stmt *statement, int column)
{
    struct sh_quantity quantity = read_event(statement, column);
    if (!sh_quantity_is_known(&quantity)) {
        return quantity;
    }
    quantity.has_interval = sqlite3_column_type(statement, column + 2) != SQLITE_NULL;
    if (quantity.has_interval) {
        quantity.lo = sqlite3_column_double(statement, column + 2);
        quantity.hi = sqlite3_column_double(statement, column + 3);
    }
    return quantity;
}

static void read_row(sqlite3_stmt *statement, size_t n_places, struct sh_index_row *row)
{
    sh_index_inside_copy_content(statement, 0, row->content);
    row->started = (const char *)sqlite3_column_text(statement, 1);
    row->athlete = (const char *)sqlite3_column_text(statement, 2);
    row->n = (unsigned)sqlite3_column_int64(statement, 3);
    row->kind = read_kind(statement, 4);
    row->arrow =
        (struct sh_arrow){.end = (unsigned)sqlite3_column_int64(statement, 5),
                          .number = (unsigned)sqlite3_column_int64(statement, 6),
                          .is_clocked = sqlite3_column_int(statement, 7) != 0,
                          .has_score = sqlite3_column_type(statement, 8) != SQLITE_NULL,
                          .score = sqlite3_column_double(statement, 8)};
    row->full_draw_s = read_event(statement, 9);
    row->let_down_s = read_event(statement, 11);
    for (size_t i = 0; i < n_places; i++) {
        row->value[i] =
            read_quantity(statement, SHOT_COLUMNS + (int)i * SH_CATALOG_SUFFIX_COUNT);
    }
}

static bool is_askable(const struct sh_index_query *query)
{
    for (size_t i = 0; i < query->n_places && i < SH_INDEX_QUERY_PLACES_MAX; i++) {
        if (query->place[i].part >= sh_catalog_get_parts(query->place[i].measure)) {
            return false;
        }
    }
    return query->n_places <= SH_INDEX_QUERY_PLACES_MAX;
}

enum sh_status sh_index_query_shots(struct sh_index *index,
                                    const struct sh_index_query *query,
                                    const struct sh_index_row_sink *sink,
                                    struct sh_error *err)
{
    if (!is_askable(query)) {
        return sh_error_set(err, SH_ERR_ARGUMENT, index->path, NULL, "no such measures");
    }
    struct sh_text sql;
    sqlite3_stmt *statement = NULL;
    sh_text_init(&sql, 0);
    format_shots(query, &sql);
    enum sh_status status = sql.status;
    if (status != SH_OK) {
        (void)sh_error_set(err, status, index->path, NULL, "out of memory");
    } else {
        status = sh_index_inside_prepare(index, sql.data, &statement, err);
    }
    if (status == SH_OK) {
        bind_filter(statement, &query->filter);
    }
    while (step_row(index, statement, &status, err)) {
        struct sh_index_row row;
        read_row(statement, query->n_places, &row);
        status = sink->take(sink->context, &row);
    }
    (void)sqlite3_finalize(statement);
    sh_text_close(&sql);
    return tell(status, err);
}
