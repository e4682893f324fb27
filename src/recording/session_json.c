/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "recording/session_json.h"

#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "recording/atomic_file.h"
#include "recording/file_text.h"
#include "recording/json_text.h"
#include "recording/mark_json.h"
#include "recording/session_fields.h"
#include "recording/stream_json.h"

#define FORMAT_NAME    "stringhand-recording"
#define FORMAT_VERSION 1
#define NAME_BYTES     64u
#define FOLDER_TODO    "give the folder of a recording"

struct sh_session_json {
    json_t *root;
};

void sh_session_json_close(struct sh_session_json **kept)
{
    if (kept == NULL || *kept == NULL) {
        return;
    }
    json_decref((*kept)->root);
    free(*kept);
    *kept = NULL;
}

static void check_format(struct sh_json_cursor *cursor, const json_t *root)
{
    char format[NAME_BYTES] = "";
    uint64_t version = 0;
    if (!json_is_object(root)) {
        sh_json_cursor_fail(cursor, SH_ERR_FORMAT, NULL, "is not a recording", FOLDER_TODO);
        return;
    }
    (void)sh_json_cursor_text(cursor, root, "format", format, sizeof format);
    if (strcmp(format, FORMAT_NAME) != 0) {
        sh_json_cursor_fail(cursor, SH_ERR_FORMAT, "format",
                            "says that this is not a recording", FOLDER_TODO);
    }
    bool was_found = sh_json_cursor_count(cursor, root, "version", &version);
    sh_json_cursor_need(cursor, was_found, "version");
    if (version != FORMAT_VERSION) {
        sh_json_cursor_fail(cursor, SH_ERR_UNSUPPORTED, "version", "is not 1",
                            "use the release of stringhand that made the recording, or a later "
                            "one");
    }
}

static void
parse_streams(struct sh_json_cursor *cursor, const json_t *root, struct sh_session *session)
{
    const json_t *list = NULL;
    bool was_found = sh_json_cursor_array(cursor, root, "streams", &list);
    sh_json_cursor_need(cursor, was_found, "streams");
    size_t n = json_array_size(list);
    if (n < 1 || n > SH_STREAMS_MAX) {
        sh_json_cursor_fail(cursor, SH_ERR_FORMAT, "streams", "has not 1 to 8 streams", NULL);
        return;
    }
    size_t outside = sh_json_cursor_enter(cursor, "streams");
    for (size_t i = 0; i < n; i++) {
        size_t before = sh_json_cursor_enter_index(cursor, i);
        session->n_streams = i + 1;
        sh_stream_json_parse(cursor, json_array_get(list, i), session, i);
        sh_json_cursor_leave(cursor, before);
    }
    sh_json_cursor_leave(cursor, outside);
}

static void
parse_marks(struct sh_json_cursor *cursor, const json_t *root, struct sh_session *session)
{
    const json_t *list = NULL;
    if (!sh_json_cursor_array(cursor, root, "marks", &list)) {
        return;
    }
    size_t outside = sh_json_cursor_enter(cursor, "marks");
    size_t n = json_array_size(list);
    for (size_t i = 0; i < n && cursor->status == SH_OK; i++) {
        struct sh_mark mark;
        size_t before = sh_json_cursor_enter_index(cursor, i);
        sh_mark_json_parse(cursor, json_array_get(list, i), &mark);
        mark.kept = i + 1;
        enum sh_status status = sh_session_add_mark(session, &mark);
        if (status != SH_OK) {
            sh_json_cursor_fail(cursor, status, NULL, sh_status_text(status), NULL);
        }
        sh_json_cursor_leave(cursor, before);
    }
    sh_json_cursor_leave(cursor, outside);
}

/* The tree of a text, given; NULL after a failure, which *status says. */
static json_t *load_tree(const char *text,
                         size_t n_bytes,
                         const char *name,
                         enum sh_status *status,
                         struct sh_error *err)
{
    json_error_t problem;
    char where[SH_ERROR_WHERE_BYTES];
    json_t *root = json_loadb(text, n_bytes, JSON_REJECT_DUPLICATES, &problem);
    if (root != NULL) {
        return root;
    }
    /* jansson leaves its text empty where an allocation failed. */
    bool is_memory =
        problem.text[0] == '\0' || json_error_code(&problem) == json_error_out_of_memory;
    bool is_cut = json_error_code(&problem) == json_error_premature_end_of_input;
    (void)snprintf(where, sizeof where, "%s: line %d", name, problem.line);
    if (is_memory) {
        *status = sh_error_set(err, SH_ERR_MEMORY, name, NULL, "out of memory");
    } else if (is_cut) {
        *status = sh_error_set(err, SH_ERR_FORMAT, where, "take the file from a copy",
                               "the text ends too early");
    } else {
        *status = sh_error_set(err, SH_ERR_FORMAT, where, FOLDER_TODO,
                               "this is not JSON: %.100s", problem.text);
    }
    return NULL;
}

enum sh_status sh_session_json_parse(const char *text,
                                     size_t n_bytes,
                                     const char *name,
                                     struct sh_session *session,
                                     struct sh_session_json **kept,
                                     struct sh_error *err)
{
    enum sh_status status = SH_OK;
    struct sh_json_cursor cursor;
    struct sh_session_json *json = calloc(1, sizeof *json);
    if (json == NULL) {
        return sh_error_set(err, SH_ERR_MEMORY, name, NULL, "out of memory");
    }
    json->root = load_tree(text, n_bytes, name, &status, err);
    if (json->root != NULL) {
        sh_json_cursor_init(&cursor, name, err);
        check_format(&cursor, json->root);
        sh_session_fields_parse(&cursor, json->root, session);
        parse_streams(&cursor, json->root, session);
        parse_marks(&cursor, json->root, session);
        status = cursor.status;
    }
    if (status != SH_OK) {
        sh_session_close(session);
    } else if (kept != NULL) {
        *kept = json;
        json = NULL;
    }
    sh_session_json_close(&json);
    return status;
}

static enum sh_status make_path(const char *folder, char path[PATH_MAX], struct sh_error *err)
{
    int n = snprintf(path, PATH_MAX, "%s/%s", folder, SH_SESSION_JSON_FILE);
    if (n < 0 || n >= PATH_MAX) {
        return sh_error_set(err, SH_ERR_ARGUMENT, folder, NULL, "the path is too long");
    }
    return SH_OK;
}

enum sh_status sh_session_json_read(const char *folder,
                                    struct sh_session *session,
                                    struct sh_session_json **kept,
                                    struct sh_error *err)
{
    char path[PATH_MAX];
    struct sh_text text;
    sh_text_init(&text, SH_SESSION_JSON_BYTES_MAX);
    enum sh_status status = make_path(folder, path, err);
    if (status == SH_OK) {
        status = sh_file_text_read(path, FOLDER_TODO, &text, err);
    }
    if (status == SH_OK) {
        const char *bytes = text.data != NULL ? text.data : "";
        status = sh_session_json_parse(bytes, text.n_bytes, path, session, kept, err);
    }
    sh_text_close(&text);
    return status;
}

static void
format_streams(struct sh_json_put *put, json_t *root, const struct sh_session *session)
{
    json_t *list = sh_json_put_list(put, root, "streams");
    for (size_t i = 0; i < session->n_streams; i++) {
        sh_stream_json_format(put, sh_json_put_object_at(put, list, i), &session->streams[i]);
    }
    sh_json_put_trim(put, list, session->n_streams);
}

/* The object a mark is written into, given: a copy of the one it was read from, or a new one.
 */
static json_t *take_mark(struct sh_json_put *put, const json_t *old, const struct sh_mark *mark)
{
    if (mark->kept == 0) {
        return json_object();
    }
    const json_t *entry = json_array_get(old, mark->kept - 1);
    if (entry == NULL) {
        sh_json_put_fail(put, SH_ERR_ARGUMENT, "marks");
        return NULL;
    }
    return json_deep_copy(entry);
}

static void
format_marks(struct sh_json_put *put, json_t *root, const struct sh_session *session)
{
    const json_t *old = json_object_get(root, "marks");
    json_t *list = json_array();
    for (size_t i = 0; i < session->n_marks && put->status == SH_OK; i++) {
        json_t *object = take_mark(put, old, &session->marks[i]);
        sh_mark_json_format(put, object, &session->marks[i]);
        if (json_array_append_new(list, object) != 0) {
            sh_json_put_fail(put, SH_ERR_MEMORY, "marks");
        }
    }
    sh_json_put_value(put, root, "marks", list);
}

static void format_root(struct sh_json_put *put, json_t *root, const struct sh_session *session)
{
    sh_json_put_text(put, root, "format", FORMAT_NAME);
    sh_json_put_number(put, root, "version", FORMAT_VERSION);
    sh_session_fields_format(put, root, session);
    format_streams(put, root, session);
    format_marks(put, root, session);
}

enum sh_status sh_session_json_format(const struct sh_session *session,
                                      const struct sh_session_json *kept,
                                      struct sh_text *text,
                                      struct sh_error *err)
{
    struct sh_json_put put = {SH_OK, NULL};
    json_t *root = kept != NULL ? json_deep_copy(kept->root) : json_object();
    if (root == NULL) {
        return sh_error_set(err, SH_ERR_MEMORY, SH_SESSION_JSON_FILE, NULL, "out of memory");
    }
    format_root(&put, root, session);
    if (put.status == SH_OK) {
        sh_json_text_write(text, root);
        sh_text_puts(text, "\n");
    }
    json_decref(root);
    if (put.status != SH_OK) {
        return sh_error_set(err, put.status, SH_SESSION_JSON_FILE, NULL,
                            "the value of %s cannot be written: %s", put.key,
                            put.status == SH_ERR_FORMAT ? "the text is not UTF-8"
                                                        : sh_status_text(put.status));
    }
    if (text->status != SH_OK) {
        return sh_error_set(err, text->status, SH_SESSION_JSON_FILE, NULL, "%s",
                            sh_status_text(text->status));
    }
    return SH_OK;
}

enum sh_status sh_session_json_write(const char *folder,
                                     const struct sh_session *session,
                                     const struct sh_session_json *kept,
                                     struct sh_error *err)
{
    char path[PATH_MAX];
    struct sh_text text;
    sh_text_init(&text, SH_SESSION_JSON_BYTES_MAX);
    enum sh_status status = make_path(folder, path, err);
    if (status == SH_OK) {
        status = sh_session_json_format(session, kept, &text, err);
    }
    if (status == SH_OK) {
        status = sh_atomic_file_write(path, text.data, text.n_bytes, err);
    }
    sh_text_close(&text);
    return status;
}
