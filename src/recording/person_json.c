/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "recording/person_json.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/percent.h"
#include "recording/atomic_file.h"
#include "recording/file_text.h"
#include "recording/json_text.h"
#include "recording/person_fields.h"

#define FORMAT_NAME     "stringhand-person"
#define FORMAT_VERSION  1
#define NAME_BYTES      64u
#define FILE_NAME_BYTES 240u /* most file systems' limit, with room for ".json.new" */

struct sh_person_json {
    json_t *root;
};

void sh_person_json_close(struct sh_person_json **kept)
{
    if (kept == NULL || *kept == NULL) {
        return;
    }
    json_decref((*kept)->root);
    free(*kept);
    *kept = NULL;
}

enum sh_status sh_person_json_make_path(const char *home,
                                        const char *name,
                                        char path[SH_PERSON_JSON_PATH_BYTES],
                                        struct sh_error *err)
{
    char file[FILE_NAME_BYTES];
    if (name[0] == '\0' || strlen(name) >= SH_SESSION_NAME_BYTES) {
        return sh_error_set(err, SH_ERR_ARGUMENT, name, "take a name of 1 to 127 bytes",
                            "this is no name");
    }
    if (!sh_percent_encode(name, file, sizeof file)) {
        return sh_error_set(err, SH_ERR_FULL, name, "take a shorter name",
                            "the name of the person's file would be too long");
    }
    int n = snprintf(path, SH_PERSON_JSON_PATH_BYTES, "%s/people/%s.json", home, file);
    if (n < 0 || (size_t)n >= SH_PERSON_JSON_PATH_BYTES) {
        return sh_error_set(err, SH_ERR_FULL, home, "give a shorter --home", "path too long");
    }
    return SH_OK;
}

static void
check_format(struct sh_json_cursor *cursor, const json_t *root, const struct sh_person *person)
{
    char format[NAME_BYTES] = "";
    uint64_t version = 0;
    (void)sh_json_cursor_text(cursor, root, "format", format, sizeof format);
    if (strcmp(format, FORMAT_NAME) != 0) {
        sh_json_cursor_fail(cursor, SH_ERR_FORMAT, "format",
                            "says that this is no person's file",
                            "move it out of the folder people");
    }
    bool was_found = sh_json_cursor_count(cursor, root, "version", &version);
    sh_json_cursor_need(cursor, was_found, "version");
    if (version != FORMAT_VERSION) {
        sh_json_cursor_fail(cursor, SH_ERR_UNSUPPORTED, "version", "is not 1",
                            "use the release of stringhand that wrote it, or a later one");
    }
    char name[SH_SESSION_NAME_BYTES] = "";
    bool has_name = sh_json_cursor_text(cursor, root, "name", name, sizeof name);
    sh_json_cursor_need(cursor, has_name, "name");
    if (strcmp(name, person->name) != 0) {
        sh_json_cursor_fail(cursor, SH_ERR_FORMAT, "name", "is another person's",
                            "rename the file");
    }
}

/* The tree of a text, given; NULL after a failure, which *status says. */
static json_t *load_tree(const struct sh_text *text,
                         const char *path,
                         enum sh_status *status,
                         struct sh_error *err)
{
    json_error_t problem;
    char where[SH_ERROR_WHERE_BYTES];
    json_t *root = json_loadb(text->data != NULL ? text->data : "", text->n_bytes,
                              JSON_REJECT_DUPLICATES, &problem);
    if (json_is_object(root)) {
        return root;
    }
    if (root == NULL &&
        (problem.text[0] == '\0' || json_error_code(&problem) == json_error_out_of_memory)) {
        *status = sh_error_set(err, SH_ERR_MEMORY, path, NULL, "out of memory");
        return NULL;
    }
    (void)snprintf(where, sizeof where, "%.500s: line %d", path,
                   root == NULL ? problem.line : 1);
    *status =
        sh_error_set(err, SH_ERR_FORMAT, where, "mend it, or take it from a copy",
                     "this is not a JSON object: %.80s", root == NULL ? problem.text : "");
    json_decref(root);
    return NULL;
}

static enum sh_status parse(const struct sh_text *text,
                            const char *path,
                            struct sh_person *person,
                            struct sh_person_json **kept,
                            struct sh_error *err)
{
    enum sh_status status = SH_OK;
    struct sh_json_cursor cursor;
    struct sh_person_json *json = calloc(1, sizeof *json);
    if (json == NULL) {
        return sh_error_set(err, SH_ERR_MEMORY, path, NULL, "out of memory");
    }
    json->root = load_tree(text, path, &status, err);
    if (json->root != NULL) {
        sh_json_cursor_init(&cursor, path, err);
        check_format(&cursor, json->root, person);
        sh_person_fields_parse(&cursor, json->root, person);
        status = cursor.status;
    }
    if (status == SH_OK && kept != NULL) {
        *kept = json;
        json = NULL;
    }
    sh_person_json_close(&json);
    return status;
}

enum sh_status sh_person_json_read(const char *home,
                                   const char *name,
                                   struct sh_person *person,
                                   struct sh_person_json **kept,
                                   struct sh_error *err)
{
    char path[SH_PERSON_JSON_PATH_BYTES];
    struct sh_text text;
    struct sh_error unread = {0};
    enum sh_status status = sh_person_json_make_path(home, name, path, err);
    if (status != SH_OK) {
        return status;
    }
    (void)snprintf(person->name, sizeof person->name, "%s", name);
    sh_text_init(&text, SH_PERSON_JSON_BYTES_MAX);
    status = sh_file_text_read(path, NULL, &text, &unread);
    if (status == SH_ERR_NOT_FOUND) {
        sh_text_close(&text);
        return SH_OK;
    }
    if (status == SH_OK) {
        status = parse(&text, path, person, kept, err);
    } else if (err != NULL && err->status == SH_OK) {
        *err = unread;
    }
    sh_text_close(&text);
    if (status != SH_OK) {
        sh_person_close(person);
    }
    return status;
}

static enum sh_status format(const struct sh_person *person,
                             const struct sh_person_json *kept,
                             const char *path,
                             struct sh_text *text,
                             struct sh_error *err)
{
    struct sh_json_put put = {SH_OK, NULL};
    json_t *root = kept != NULL ? json_deep_copy(kept->root) : json_object();
    if (root == NULL) {
        return sh_error_set(err, SH_ERR_MEMORY, path, NULL, "out of memory");
    }
    sh_json_put_text(&put, root, "format", FORMAT_NAME);
    sh_json_put_number(&put, root, "version", FORMAT_VERSION);
    sh_json_put_text(&put, root, "name", person->name);
    sh_person_fields_format(&put, root, person);
    if (put.status == SH_OK) {
        sh_json_text_write(text, root);
        sh_text_puts(text, "\n");
    }
    json_decref(root);
    if (put.status != SH_OK) {
        return sh_error_set(
            err, put.status, path, NULL, "the value of %s cannot be written: %s", put.key,
            put.status == SH_ERR_FORMAT ? "the text is not UTF-8" : sh_status_text(put.status));
    }
    return text->status == SH_OK ? SH_OK
                                 : sh_error_set(err, text->status, path, NULL, "%s",
                                                sh_status_text(text->status));
}

enum sh_status sh_person_json_write(const char *home,
                                    const struct sh_person *person,
                                    const struct sh_person_json *kept,
                                    struct sh_error *err)
{
    char path[SH_PERSON_JSON_PATH_BYTES];
    struct sh_text text;
    sh_text_init(&text, SH_PERSON_JSON_BYTES_MAX);
    enum sh_status status = sh_person_json_make_path(home, person->name, path, err);
    if (status == SH_OK) {
        status = format(person, kept, path, &text, err);
    }
    if (status == SH_OK) {
        status = sh_atomic_file_write(path, text.data, text.n_bytes, err);
    }
    sh_text_close(&text);
    return status;
}
