/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "recording/json_cursor.h"

#include <stdio.h>
#include <string.h>

void sh_json_cursor_init(struct sh_json_cursor *cursor, const char *file, struct sh_error *err)
{
    *cursor = (struct sh_json_cursor){.file = file, .err = err};
}

static void append(struct sh_json_cursor *cursor, const char *text)
{
    size_t room = sizeof cursor->path - cursor->n_path_bytes;
    int n = snprintf(cursor->path + cursor->n_path_bytes, room, "%s", text);
    if (n > 0) {
        cursor->n_path_bytes += (size_t)n < room ? (size_t)n : room - 1;
    }
}

size_t sh_json_cursor_enter(struct sh_json_cursor *cursor, const char *key)
{
    size_t before = cursor->n_path_bytes;
    if (before > 0) {
        append(cursor, ".");
    }
    append(cursor, key);
    return before;
}

size_t sh_json_cursor_enter_index(struct sh_json_cursor *cursor, size_t index)
{
    size_t before = cursor->n_path_bytes;
    char text[32];
    (void)snprintf(text, sizeof text, "[%zu]", index);
    append(cursor, text);
    return before;
}

void sh_json_cursor_leave(struct sh_json_cursor *cursor, size_t n_path_bytes)
{
    cursor->n_path_bytes = n_path_bytes;
    cursor->path[n_path_bytes] = '\0';
}

void sh_json_cursor_fail(struct sh_json_cursor *cursor,
                         enum sh_status status,
                         const char *key,
                         const char *what,
                         const char *todo)
{
    if (cursor->status != SH_OK) {
        return;
    }
    size_t before = cursor->n_path_bytes;
    if (key != NULL) {
        sh_json_cursor_enter(cursor, key);
    }
    char where[SH_ERROR_WHERE_BYTES];
    const char *between = cursor->n_path_bytes > 0 ? ": " : "";
    (void)snprintf(where, sizeof where, "%s%s%s", cursor->file, between, cursor->path);
    cursor->status = sh_error_set(cursor->err, status, where, todo, "%s", what);
    sh_json_cursor_leave(cursor, before);
}

static void fail_type(struct sh_json_cursor *cursor, const char *key, const char *what)
{
    sh_json_cursor_fail(cursor, SH_ERR_FORMAT, key, what, NULL);
}

/* The value of a key, or NULL where it is missing or null, or after a failure. */
static const json_t *
find_value(const struct sh_json_cursor *cursor, const json_t *object, const char *key)
{
    if (cursor->status != SH_OK) {
        return NULL;
    }
    const json_t *value = json_object_get(object, key);
    return json_is_null(value) ? NULL : value;
}

bool sh_json_cursor_number(struct sh_json_cursor *cursor,
                           const json_t *object,
                           const char *key,
                           double *out)
{
    const json_t *value = find_value(cursor, object, key);
    if (value == NULL) {
        return false;
    }
    if (!json_is_number(value)) {
        fail_type(cursor, key, "is not a number");
        return false;
    }
    *out = json_number_value(value);
    return true;
}

bool sh_json_cursor_count(struct sh_json_cursor *cursor,
                          const json_t *object,
                          const char *key,
                          uint64_t *out)
{
    const json_t *value = find_value(cursor, object, key);
    if (value == NULL) {
        return false;
    }
    if (!json_is_integer(value) || json_integer_value(value) < 0) {
        fail_type(cursor, key, "is not a whole number from 0 up");
        return false;
    }
    *out = (uint64_t)json_integer_value(value);
    return true;
}

bool sh_json_cursor_integer(
    struct sh_json_cursor *cursor, const json_t *object, const char *key, int limit, int *out)
{
    const json_t *value = find_value(cursor, object, key);
    if (value == NULL) {
        return false;
    }
    json_int_t number = json_integer_value(value);
    if (!json_is_integer(value) || number < -limit || number > limit) {
        char what[64];
        (void)snprintf(what, sizeof what, "is not a whole number from -%d to %d", limit, limit);
        fail_type(cursor, key, what);
        return false;
    }
    *out = (int)number;
    return true;
}

bool sh_json_cursor_bool(struct sh_json_cursor *cursor,
                         const json_t *object,
                         const char *key,
                         bool *out)
{
    const json_t *value = find_value(cursor, object, key);
    if (value == NULL) {
        return false;
    }
    if (!json_is_boolean(value)) {
        fail_type(cursor, key, "is neither true nor false");
        return false;
    }
    *out = json_is_true(value);
    return true;
}

bool sh_json_cursor_text(struct sh_json_cursor *cursor,
                         const json_t *object,
                         const char *key,
                         char *out,
                         size_t out_bytes)
{
    const json_t *value = find_value(cursor, object, key);
    if (value == NULL) {
        return false;
    }
    if (!json_is_string(value)) {
        fail_type(cursor, key, "is not a text");
        return false;
    }
    size_t n_bytes = json_string_length(value);
    if (n_bytes >= out_bytes) {
        fail_type(cursor, key, "is too long a text");
        return false;
    }
    memcpy(out, json_string_value(value), n_bytes + 1);
    return true;
}

bool sh_json_cursor_array(struct sh_json_cursor *cursor,
                          const json_t *object,
                          const char *key,
                          const json_t **out)
{
    const json_t *value = find_value(cursor, object, key);
    if (value != NULL && !json_is_array(value)) {
        fail_type(cursor, key, "is not a list");
        return false;
    }
    if (value == NULL) {
        return false;
    }
    *out = value;
    return true;
}

bool sh_json_cursor_object(struct sh_json_cursor *cursor,
                           const json_t *object,
                           const char *key,
                           const json_t **out)
{
    const json_t *value = find_value(cursor, object, key);
    if (value != NULL && !json_is_object(value)) {
        fail_type(cursor, key, "is not an object");
        return false;
    }
    if (value == NULL) {
        return false;
    }
    *out = value;
    return true;
}

bool sh_json_cursor_tuple(struct sh_json_cursor *cursor,
                          const json_t *array,
                          double *out,
                          size_t n_out)
{
    if (cursor->status != SH_OK) {
        return false;
    }
    bool is_right = json_is_array(array) && json_array_size(array) == n_out;
    for (size_t i = 0; is_right && i < n_out; i++) {
        const json_t *value = json_array_get(array, i);
        is_right = json_is_number(value);
        out[i] = json_number_value(value);
    }
    if (!is_right) {
        char what[64];
        (void)snprintf(what, sizeof what, "is not a list of %zu numbers", n_out);
        fail_type(cursor, NULL, what);
    }
    return is_right;
}

void sh_json_cursor_need(struct sh_json_cursor *cursor, bool was_found, const char *key)
{
    if (!was_found) {
        sh_json_cursor_fail(cursor, SH_ERR_FORMAT, key, "is missing", NULL);
    }
}
