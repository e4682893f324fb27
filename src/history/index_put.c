/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>

#include "base/text.h"
#include "history/index_inside.h"
#include "history/index_schema.h"

static const char put_recording_sql[] =
    "INSERT INTO recording (content, folder, stamp_ns, program, started, utc_offset_min, "
    "session, athlete, bow, channels, duration_s, n_shots) "
    "VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)";
static const char put_finding_sql[] =
    "INSERT INTO finding (content, n, place, code, value, value_u, threshold) "
    "VALUES (?, ?, ?, ?, ?, ?, ?)";

static const char put_tag_sql[] =
    "INSERT OR REPLACE INTO tag (content, name, value) VALUES (?, ?, ?)";

/* A row that is being filled: the next parameter comes behind place. */
struct row {
    sqlite3_stmt *statement;
    int place;
};

static void put_text(struct row *row, const char *text)
{
    sh_index_inside_bind_text(row->statement, ++row->place, text);
}

static void put_content(struct row *row, const char *content)
{
    sh_index_inside_bind_content(row->statement, ++row->place, content);
}

static void put_integer(struct row *row, int64_t integer)
{
    (void)sqlite3_bind_int64(row->statement, ++row->place, integer);
}

/* A number; null where it is not known. */
static void put_number(struct row *row, bool is_known, double number)
{
    row->place++;
    if (is_known && isfinite(number)) {
        (void)sqlite3_bind_double(row->statement, row->place, number);
    }
}

static enum sh_status prepare_once(const struct sh_index *index,
                                   const char *sql,
                                   sqlite3_stmt **statement,
                                   struct sh_error *err)
{
    return *statement != NULL ? SH_OK : sh_index_inside_prepare(index, sql, statement, err);
}

static enum sh_status prepare_all(struct sh_index *index, struct sh_error *err)
{
    struct sh_text insert;
    sh_text_init(&insert, 0);
    sh_index_schema_format_insert(&insert);
    enum sh_status status = insert.status;
    if (status != SH_OK) {
        (void)sh_error_set(err, status, index->path, NULL, "out of memory");
    } else {
        status = prepare_once(index, insert.data, &index->put_shot, err);
    }
    sh_text_close(&insert);
    if (status == SH_OK) {
        status = prepare_once(index, put_recording_sql, &index->put_recording, err);
    }
    if (status == SH_OK) {
        status = prepare_once(index, put_tag_sql, &index->put_tag, err);
    }
    return status == SH_OK ? prepare_once(index, put_finding_sql, &index->put_finding, err)
                           : status;
}

/* One statement with a content and perhaps a folder as its parameters. */
static enum sh_status run_with(const struct sh_index *index,
                               const char *sql,
                               const char *content,
                               const char *folder,
                               struct sh_error *err)
{
    sqlite3_stmt *statement = NULL;
    enum sh_status status = sh_index_inside_prepare(index, sql, &statement, err);
    if (status == SH_OK) {
        sh_index_inside_bind_content(statement, 1, content);
        if (folder != NULL) {
            sh_index_inside_bind_text(statement, 2, folder);
        }
        status = sh_index_inside_step(index, statement, err);
    }
    (void)sqlite3_finalize(statement);
    return status;
}

static enum sh_status put_head(struct sh_index *index,
                               const struct sh_index_recording *recording,
                               const struct sh_analysis *analysis,
                               struct sh_error *err)
{
    struct row row = {index->put_recording, 0};
    put_content(&row, recording->content);
    put_text(&row, recording->folder);
    put_integer(&row, recording->stamp_ns);
    put_text(&row, recording->program);
    put_text(&row, recording->started);
    put_integer(&row, recording->utc_offset_min);
    put_text(&row, recording->session);
    put_text(&row, recording->athlete);
    put_text(&row, recording->bow);
    put_text(&row, recording->channels);
    put_number(&row, true, analysis->duration_s);
    put_integer(&row, (int64_t)analysis->n_shots);
    return sh_index_inside_step(index, row.statement, err);
}

static void put_quantity(struct row *row, const struct sh_quantity *quantity, bool with_limits)
{
    const bool is_known = sh_quantity_is_known(quantity);
    put_number(row, is_known, quantity->value);
    put_number(row, is_known, quantity->u);
    if (with_limits) {
        put_number(row, is_known && quantity->has_interval, quantity->lo);
        put_number(row, is_known && quantity->has_interval, quantity->hi);
    }
}

static void format_quality(const struct sh_shot_record *record, struct sh_text *quality)
{
    for (int i = 0; i < SH_CODE_QUALITY_COUNT; i++) {
        if (record->quality[i]) {
            sh_text_printf(quality, "%s%s", quality->n_bytes > 0 ? " " : "",
                           sh_code_quality_name((enum sh_code_quality)i));
        }
    }
}

static enum sh_status put_shot(struct sh_index *index,
                               const char *content,
                               const struct sh_shot_record *record,
                               const struct sh_arrow *arrow,
                               struct sh_error *err)
{
    struct row row = {index->put_shot, 0};
    struct sh_text quality;
    sh_text_init(&quality, 0);
    format_quality(record, &quality);
    put_content(&row, content);
    put_integer(&row, (int64_t)record->shot.n);
    put_text(&row, sh_shot_kind_name(record->shot.kind));
    put_integer(&row, (int64_t)arrow->end);
    put_integer(&row, (int64_t)arrow->number);
    put_integer(&row, arrow->is_clocked ? 1 : 0);
    put_number(&row, arrow->has_score, arrow->score);
    put_text(&row, quality.data != NULL ? quality.data : "");
    for (size_t i = 0; i < SH_EVENT_COUNT; i++) {
        put_quantity(&row, &record->shot.event_s[i], false);
    }
    for (size_t i = 0; i < SH_MEASURE_PLACES; i++) {
        put_quantity(&row, &record->measures.quantity[i], true);
    }
    enum sh_status status = sh_index_inside_step(index, row.statement, err);
    sh_text_close(&quality);
    return status;
}

static enum sh_status put_findings(struct sh_index *index,
                                   const char *content,
                                   const struct sh_shot_record *record,
                                   struct sh_error *err)
{
    enum sh_status status = SH_OK;
    for (size_t i = 0; i < record->n_findings && status == SH_OK; i++) {
        const struct sh_finding *finding = &record->findings[i];
        const bool is_known = sh_quantity_is_known(&finding->value);
        struct row row = {index->put_finding, 0};
        put_content(&row, content);
        put_integer(&row, (int64_t)record->shot.n);
        put_integer(&row, (int64_t)i + 1);
        put_text(&row, sh_code_name(finding->code));
        put_number(&row, is_known, finding->value.value);
        put_number(&row, is_known, finding->value.u);
        put_number(&row, true, finding->threshold);
        status = sh_index_inside_step(index, row.statement, err);
    }
    return status;
}

static enum sh_status put_tags(struct sh_index *index,
                               const struct sh_index_recording *recording,
                               struct sh_error *err)
{
    enum sh_status status = SH_OK;
    for (size_t i = 0; i < recording->n_tags && status == SH_OK; i++) {
        struct row row = {index->put_tag, 0};
        put_content(&row, recording->content);
        put_text(&row, recording->tags[i].key);
        put_text(&row, recording->tags[i].value);
        status = sh_index_inside_step(index, row.statement, err);
    }
    return status;
}

static enum sh_status put_all(struct sh_index *index,
                              const struct sh_index_recording *recording,
                              const struct sh_analysis *analysis,
                              const struct sh_arrow *arrows,
                              struct sh_error *err)
{
    enum sh_status status =
        run_with(index, "DELETE FROM recording WHERE content = ?1 OR folder = ?2",
                 recording->content, recording->folder, err);
    if (status == SH_OK) {
        status = put_head(index, recording, analysis, err);
    }
    if (status == SH_OK) {
        status = put_tags(index, recording, err);
    }
    for (size_t i = 0; i < analysis->n_shots && status == SH_OK; i++) {
        status = put_shot(index, recording->content, &analysis->shots[i], &arrows[i], err);
        if (status == SH_OK) {
            status = put_findings(index, recording->content, &analysis->shots[i], err);
        }
    }
    return status;
}

enum sh_status sh_index_put(struct sh_index *index,
                            const struct sh_index_recording *recording,
                            const struct sh_analysis *analysis,
                            const struct sh_arrow *arrows,
                            struct sh_error *err)
{
    enum sh_status status = prepare_all(index, err);
    if (status == SH_OK) {
        status = sh_index_inside_run(index, "SAVEPOINT put", err);
    }
    if (status != SH_OK) {
        return status;
    }
    status = put_all(index, recording, analysis, arrows, err);
    if (status != SH_OK) {
        (void)sh_index_inside_run(index, "ROLLBACK TO put", NULL);
    }
    enum sh_status released = sh_index_inside_run(index, "RELEASE put", err);
    return status != SH_OK ? status : released;
}

enum sh_status sh_index_move(struct sh_index *index,
                             const char *content,
                             const char *folder,
                             struct sh_error *err)
{
    enum sh_status status =
        run_with(index, "DELETE FROM recording WHERE folder = ?2 AND content <> ?1", content,
                 folder, err);
    return status == SH_OK
               ? run_with(index, "UPDATE recording SET folder = ?2 WHERE content = ?1", content,
                          folder, err)
               : status;
}

enum sh_status
sh_index_remove(struct sh_index *index, const char *content, struct sh_error *err)
{
    return run_with(index, "DELETE FROM recording WHERE content = ?1", content, NULL, err);
}

enum sh_status sh_index_remove_athlete(struct sh_index *index,
                                       const char *athlete,
                                       size_t *n,
                                       struct sh_error *err)
{
    sqlite3_stmt *statement = NULL;
    enum sh_status status = sh_index_inside_prepare(
        index, "DELETE FROM recording WHERE athlete = ?1", &statement, err);
    *n = 0;
    if (status == SH_OK) {
        sh_index_inside_bind_text(statement, 1, athlete);
        status = sh_index_inside_step(index, statement, err);
    }
    if (status == SH_OK) {
        *n = (size_t)sqlite3_changes(index->database);
    }
    (void)sqlite3_finalize(statement);
    return status;
}
