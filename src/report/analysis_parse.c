/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/analysis_parse.h"

#include <stdlib.h>
#include <string.h>

#include "recording/file_text.h"
#include "report/analysis_json.h"
#include "report/shot_parse.h"

#define AGAIN "analyse the recording again"

/* Refuses what is no result, or not one of this program's version. */
static void check_head(struct sh_json_cursor *cursor, const json_t *root)
{
    char format[SH_ANALYSIS_TEXT_BYTES] = "";
    char program[SH_ANALYSIS_TEXT_BYTES] = "";
    uint64_t version = 0;
    (void)sh_json_cursor_text(cursor, root, "format", format, sizeof format);
    (void)sh_json_cursor_text(cursor, root, "program", program, sizeof program);
    (void)sh_json_cursor_count(cursor, root, "version", &version);
    if (strcmp(format, SH_ANALYSIS_JSON_FORMAT) != 0) {
        sh_json_cursor_fail(cursor, SH_ERR_FORMAT, "format", "is not that of a result", AGAIN);
    } else if (version != SH_ANALYSIS_JSON_VERSION ||
               strcmp(program, SH_ANALYSIS_JSON_PROGRAM) != 0) {
        sh_json_cursor_fail(cursor, SH_ERR_UNSUPPORTED, "program", "is another version", AGAIN);
    }
}

/* Adds a quality by its code; a code of another version is passed over. */
static void add_quality(struct sh_analysis *analysis, const char *code, const char *text)
{
    for (int k = 0; k < SH_CODE_QUALITY_COUNT; k++) {
        if (strcmp(code, sh_code_quality_name((enum sh_code_quality)k)) == 0) {
            sh_analysis_add_quality(analysis, (enum sh_code_quality)k, text);
        }
    }
}

static void
read_quality(struct sh_json_cursor *cursor, const json_t *root, struct sh_analysis *analysis)
{
    const json_t *list = NULL;
    if (!sh_json_cursor_array(cursor, root, "quality", &list)) {
        return;
    }
    for (size_t i = 0; i < json_array_size(list); i++) {
        const json_t *entry = json_array_get(list, i);
        char code[SH_ANALYSIS_TEXT_BYTES] = "";
        char text[SH_ANALYSIS_TEXT_BYTES] = "";
        (void)sh_json_cursor_text(cursor, entry, "code", code, sizeof code);
        (void)sh_json_cursor_text(cursor, entry, "text", text, sizeof text);
        add_quality(analysis, code, text);
    }
}

static void
read_history(struct sh_json_cursor *cursor, const json_t *root, struct sh_analysis *analysis)
{
    const json_t *list = NULL;
    if (!sh_json_cursor_array(cursor, root, "history", &list)) {
        return;
    }
    for (size_t i = 0; i < json_array_size(list); i++) {
        const char *name = json_string_value(json_array_get(list, i));
        enum sh_status status = sh_analysis_add_history(analysis, name != NULL ? name : "");
        if (status != SH_OK) {
            sh_json_cursor_fail(cursor, status, "history", "is too long", AGAIN);
            return;
        }
    }
}

static void
read_shots(struct sh_json_cursor *cursor, const json_t *root, struct sh_analysis *analysis)
{
    const json_t *list = NULL;
    sh_json_cursor_need(cursor, sh_json_cursor_array(cursor, root, "shots", &list), "shots");
    struct sh_shot_record *record = malloc(sizeof *record);
    if (record == NULL) {
        sh_json_cursor_fail(cursor, SH_ERR_MEMORY, "shots", "do not fit into memory", NULL);
    }
    const size_t outside = sh_json_cursor_enter(cursor, "shots");
    for (size_t i = 0; cursor->status == SH_OK && i < json_array_size(list); i++) {
        const size_t list_path = sh_json_cursor_enter_index(cursor, i);
        sh_shot_parse(cursor, json_array_get(list, i), record);
        enum sh_status status =
            cursor->status == SH_OK ? sh_analysis_add(analysis, record) : SH_OK;
        if (status != SH_OK) {
            sh_json_cursor_fail(cursor, status, NULL, "is one shot too many", NULL);
        }
        sh_json_cursor_leave(cursor, list_path);
    }
    sh_json_cursor_leave(cursor, outside);
    free(record);
}

static void
read_root(struct sh_json_cursor *cursor, const json_t *root, struct sh_analysis *analysis)
{
    char recording[SH_SESSION_FILE_BYTES] = "";
    char athlete[SH_SESSION_NAME_BYTES] = "";
    check_head(cursor, root);
    (void)sh_json_cursor_text(cursor, root, "recording", recording, sizeof recording);
    (void)sh_json_cursor_text(cursor, root, "athlete", athlete, sizeof athlete);
    if (cursor->status != SH_OK) {
        return;
    }
    sh_analysis_init(analysis, recording, athlete);
    sh_json_cursor_need(
        cursor, sh_json_cursor_number(cursor, root, "duration_s", &analysis->duration_s),
        "duration_s");
    read_quality(cursor, root, analysis);
    read_history(cursor, root, analysis);
    read_shots(cursor, root, analysis);
}

enum sh_status sh_analysis_parse(const char *text,
                                 size_t n_bytes,
                                 const char *file,
                                 struct sh_analysis *out,
                                 struct sh_error *err)
{
    json_error_t problem;
    json_t *root = json_loadb(text, n_bytes, JSON_REJECT_DUPLICATES, &problem);
    if (root == NULL) {
        const bool is_memory = json_error_code(&problem) == json_error_out_of_memory;
        return sh_error_set(err, is_memory ? SH_ERR_MEMORY : SH_ERR_FORMAT, file, AGAIN,
                            "line %d: %s", problem.line, problem.text);
    }
    struct sh_json_cursor cursor;
    struct sh_analysis analysis = {0};
    sh_json_cursor_init(&cursor, file, err);
    read_root(&cursor, root, &analysis);
    json_decref(root);
    if (cursor.status != SH_OK) {
        sh_analysis_close(&analysis);
        return cursor.status;
    }
    *out = analysis;
    return SH_OK;
}

enum sh_status
sh_analysis_parse_file(const char *path, struct sh_analysis *out, struct sh_error *err)
{
    struct sh_text text;
    sh_text_init(&text, SH_ANALYSIS_PARSE_BYTES_MAX);
    enum sh_status status = sh_file_text_read(path, AGAIN, &text, err);
    if (status == SH_OK) {
        status =
            sh_analysis_parse(text.data != NULL ? text.data : "", text.n_bytes, path, out, err);
    }
    sh_text_close(&text);
    return status;
}
