/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "recording/json_text.h"

#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>

#define LINE_BYTES    96u
#define INDENT_BYTES  2u
#define FEWEST_DIGITS 15u /* every decimal of so many digits survives a double */
#define EXACT_DIGITS  17u /* enough for every double: IEEE 754-2019, 5.12.2 */
#define NUMBER_BYTES  32u

static size_t count_digits(double value)
{
    char number[NUMBER_BYTES];
    size_t digits = FEWEST_DIGITS;
    for (; digits < EXACT_DIGITS; digits++) {
        (void)snprintf(number, sizeof number, "%.*g", (int)digits, value);
        double back = strtod(number, NULL);
        if (!(back < value) && !(back > value)) {
            break;
        }
    }
    return digits;
}

static int write_bytes(const char *bytes, size_t n_bytes, void *context)
{
    struct sh_text *text = context;
    sh_text_write(text, bytes, n_bytes);
    return text->status == SH_OK ? 0 : -1;
}

static void write_scalar(struct sh_text *text, const json_t *value)
{
    size_t flags = JSON_ENCODE_ANY;
    if (json_is_real(value)) {
        flags |= JSON_REAL_PRECISION(count_digits(json_real_value(value)));
    }
    if (json_dump_callback(value, write_bytes, text, flags) != 0 && text->status == SH_OK) {
        text->status = SH_ERR_MEMORY; /* texts in a tree are UTF-8: nothing else is left */
    }
}

static void write_key(struct sh_text *text, const char *key)
{
    json_t *string = json_string(key);
    if (string == NULL) {
        text->status = text->status != SH_OK ? text->status : SH_ERR_MEMORY;
        return;
    }
    write_scalar(text, string);
    json_decref(string);
    sh_text_puts(text, ": ");
}

static size_t count_items(const json_t *container)
{
    return json_is_object(container) ? json_object_size(container) : json_array_size(container);
}

/* Item i of a list, or, of an object, the value under an iterator that stands at item i. */
static json_t *get_item(const json_t *container, void *iterator, size_t i)
{
    return iterator != NULL ? json_object_iter_value(iterator) : json_array_get(container, i);
}

/*
 * Writes everything on one line. Gives up, leaving a part behind, once the text is longer than
 * limit_bytes.
 */
static void write_inline(struct sh_text *text, json_t *value, size_t limit_bytes)
{
    if (!json_is_object(value) && !json_is_array(value)) {
        write_scalar(text, value);
        return;
    }
    void *iterator = json_object_iter(value);
    size_t n = count_items(value);
    sh_text_puts(text, json_is_object(value) ? "{" : "[");
    for (size_t i = 0; i < n && text->n_bytes <= limit_bytes; i++) {
        sh_text_puts(text, i > 0 ? ", " : "");
        if (iterator != NULL) {
            write_key(text, json_object_iter_key(iterator));
        }
        write_inline(text, get_item(value, iterator, i), limit_bytes);
        iterator = json_object_iter_next(value, iterator);
    }
    sh_text_puts(text, json_is_object(value) ? "}" : "]");
}

static void break_line(struct sh_text *text, size_t depth)
{
    sh_text_puts(text, "\n");
    for (size_t i = 0; i < depth * INDENT_BYTES; i++) {
        sh_text_puts(text, " ");
    }
}

static void write_fitting(struct sh_text *text, json_t *value, size_t line_start, size_t depth);

static void write_broken(struct sh_text *text, json_t *value, size_t depth)
{
    void *iterator = json_object_iter(value);
    size_t n = count_items(value);
    sh_text_puts(text, json_is_object(value) ? "{" : "[");
    for (size_t i = 0; i < n && text->status == SH_OK; i++) {
        sh_text_puts(text, i > 0 ? "," : "");
        size_t line_start = text->n_bytes + 1;
        break_line(text, depth + 1);
        if (iterator != NULL) {
            write_key(text, json_object_iter_key(iterator));
        }
        write_fitting(text, get_item(value, iterator, i), line_start, depth + 1);
        iterator = json_object_iter_next(value, iterator);
    }
    break_line(text, depth);
    sh_text_puts(text, json_is_object(value) ? "}" : "]");
}

/* One line where the value fits what is left of it, else broken. */
static void write_fitting(struct sh_text *text, json_t *value, size_t line_start, size_t depth)
{
    size_t before = text->n_bytes;
    size_t limit_bytes = line_start + LINE_BYTES - 1; /* a comma may follow */
    write_inline(text, value, limit_bytes);
    if (text->n_bytes > limit_bytes && count_items(value) > 0 && text->status == SH_OK) {
        text->n_bytes = before;
        write_broken(text, value, depth);
    }
}

void sh_json_text_write(struct sh_text *text, json_t *value)
{
    write_fitting(text, value, text->n_bytes, 0);
}
