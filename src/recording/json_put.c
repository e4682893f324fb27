/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "recording/json_put.h"

#include <math.h>
#include <stdbool.h>
#include <utf8proc.h>

#include "recording/json_text.h"

#define WHOLE_MAX 9007199254740992.0 /* 2^53 */

void sh_json_put_fail(struct sh_json_put *put, enum sh_status status, const char *key)
{
    if (put->status == SH_OK) {
        put->status = status;
        put->key = key;
    }
}

static bool is_equal(double a, double b)
{
    return !(a < b) && !(a > b);
}

static bool holds_number(const json_t *value, double expected)
{
    return json_is_number(value) && is_equal(json_number_value(value), expected);
}

static json_t *make_number(double value)
{
    bool is_whole = fabs(value) < WHOLE_MAX && is_equal(value, trunc(value));
    return is_whole ? json_integer((json_int_t)value) : json_real(value);
}

void sh_json_put_value(struct sh_json_put *put, json_t *object, const char *key, json_t *value)
{
    if (put->status != SH_OK) {
        json_decref(value);
    } else if (value == NULL || json_object_set_new(object, key, value) != 0) {
        sh_json_put_fail(put, SH_ERR_MEMORY, key);
    }
}

void sh_json_put_nothing(struct sh_json_put *put, json_t *object, const char *key)
{
    if (put->status == SH_OK && !json_is_null(json_object_get(object, key))) {
        (void)json_object_del(object, key);
    }
}

void sh_json_put_number(struct sh_json_put *put, json_t *object, const char *key, double value)
{
    if (!isfinite(value)) {
        sh_json_put_fail(put, SH_ERR_NOT_FINITE, key);
    }
    if (put->status == SH_OK && !holds_number(json_object_get(object, key), value)) {
        sh_json_put_value(put, object, key, make_number(value));
    }
}

void sh_json_put_known(
    struct sh_json_put *put, json_t *object, const char *key, bool is_known, double value)
{
    if (is_known) {
        sh_json_put_number(put, object, key, value);
    } else {
        sh_json_put_value(put, object, key, json_null());
    }
}

void sh_json_put_count(struct sh_json_put *put, json_t *object, const char *key, uint64_t value)
{
    if (value > INT64_MAX) {
        sh_json_put_fail(put, SH_ERR_ARGUMENT, key);
    }
    if (put->status == SH_OK) {
        sh_json_put_value(put, object, key, json_integer((json_int_t)value));
    }
}

static bool is_utf8(const char *text)
{
    const utf8proc_uint8_t *rest = (const utf8proc_uint8_t *)text;
    utf8proc_int32_t letter = 0;
    while (*rest != '\0') {
        utf8proc_ssize_t n_bytes = utf8proc_iterate(rest, -1, &letter);
        if (n_bytes <= 0) {
            return false;
        }
        rest += n_bytes;
    }
    return true;
}

void sh_json_put_text(struct sh_json_put *put,
                      json_t *object,
                      const char *key,
                      const char *value)
{
    if (!is_utf8(value)) {
        sh_json_put_fail(put, SH_ERR_FORMAT, key);
    }
    if (put->status == SH_OK) {
        sh_json_put_value(put, object, key, json_string(value));
    }
}

static bool holds_numbers(const json_t *list, const double *values, size_t n)
{
    bool is_same = json_is_array(list) && json_array_size(list) == n;
    for (size_t i = 0; is_same && i < n; i++) {
        is_same = holds_number(json_array_get(list, i), values[i]);
    }
    return is_same;
}

/* A new list of numbers, given; NULL after a failure. */
static json_t *
make_numbers(struct sh_json_put *put, const char *key, const double *values, size_t n)
{
    json_t *list = json_array();
    for (size_t i = 0; list != NULL && i < n; i++) {
        bool is_bad = !isfinite(values[i]);
        if (is_bad || json_array_append_new(list, make_number(values[i])) != 0) {
            sh_json_put_fail(put, is_bad ? SH_ERR_NOT_FINITE : SH_ERR_MEMORY, key);
            json_decref(list);
            return NULL;
        }
    }
    if (list == NULL) {
        sh_json_put_fail(put, SH_ERR_MEMORY, key);
    }
    return list;
}

void sh_json_put_numbers(
    struct sh_json_put *put, json_t *object, const char *key, const double *values, size_t n)
{
    if (put->status == SH_OK && !holds_numbers(json_object_get(object, key), values, n)) {
        sh_json_put_value(put, object, key, make_numbers(put, key, values, n));
    }
}

json_t *sh_json_put_object(struct sh_json_put *put, json_t *object, const char *key)
{
    json_t *inside = json_object_get(object, key);
    if (!json_is_object(inside)) {
        sh_json_put_value(put, object, key, json_object());
        inside = json_object_get(object, key);
    }
    return put->status == SH_OK ? inside : NULL;
}

json_t *sh_json_put_list(struct sh_json_put *put, json_t *object, const char *key)
{
    json_t *inside = json_object_get(object, key);
    if (!json_is_array(inside)) {
        sh_json_put_value(put, object, key, json_array());
        inside = json_object_get(object, key);
    }
    return put->status == SH_OK ? inside : NULL;
}

/* Puts a value that is taken at index, or behind the last element. */
static void put_at(struct sh_json_put *put, json_t *list, size_t index, json_t *value)
{
    if (put->status != SH_OK) {
        json_decref(value);
        return;
    }
    int failure = index < json_array_size(list) ? json_array_set_new(list, index, value)
                                                : json_array_append_new(list, value);
    if (failure != 0) {
        sh_json_put_fail(put, SH_ERR_MEMORY, "");
    }
}

json_t *sh_json_put_object_at(struct sh_json_put *put, json_t *list, size_t index)
{
    if (!json_is_object(json_array_get(list, index))) {
        put_at(put, list, index, json_object());
    }
    return put->status == SH_OK ? json_array_get(list, index) : NULL;
}

void sh_json_put_numbers_at(
    struct sh_json_put *put, json_t *list, size_t index, const double *values, size_t n)
{
    if (put->status == SH_OK && !holds_numbers(json_array_get(list, index), values, n)) {
        put_at(put, list, index, make_numbers(put, "", values, n));
    }
}

void sh_json_put_trim(struct sh_json_put *put, json_t *list, size_t n)
{
    while (put->status == SH_OK && json_array_size(list) > n) {
        (void)json_array_remove(list, json_array_size(list) - 1);
    }
}

enum sh_status
sh_json_put_finish(const struct sh_json_put *put, json_t *root, struct sh_text *text)
{
    if (put->status == SH_OK) {
        sh_json_text_write(text, root);
        sh_text_puts(text, "\n");
    } else if (text->status == SH_OK) {
        text->status = put->status;
    }
    json_decref(root);
    return text->status;
}
