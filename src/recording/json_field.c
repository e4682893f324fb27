/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "recording/json_field.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "recording/mark.h"

#define DATE_BYTES 10u

bool sh_json_field_is_date(const char *text)
{
    int year = 0;
    int month = 0;
    int day = 0;
    if (strlen(text) != DATE_BYTES || strspn(text, "0123456789") != 4 ||
        strspn(text + 5, "0123456789") != 2 || strspn(text + 8, "0123456789") != 2 ||
        text[4] != '-' || text[7] != '-') {
        return false;
    }
    /* The shape is checked: ten bytes that cannot overflow an int. */
    int n = sscanf(text, "%4d-%2d-%2d", &year, &month, &day); /* NOLINT(cert-err34-c) */
    return n == 3 && month >= 1 && month <= 12 && day >= 1 && day <= 31;
}

/* NULL where value keeps the rule, else what is wrong. */
static const char *find_offence(enum sh_json_field_rule rule, double value)
{
    switch (rule) {
    case SH_JSON_FIELD_FROM_0:
        return value < 0.0 ? "is below 0" : NULL;
    case SH_JSON_FIELD_ABOVE_0:
        return value > 0.0 ? NULL : "is not above 0";
    case SH_JSON_FIELD_NOT_0:
        return fabs(value) > 0.0 ? NULL : "is 0";
    case SH_JSON_FIELD_ANY:
    default:
        return NULL;
    }
}

static bool parse_number(struct sh_json_cursor *cursor,
                         const json_t *object,
                         const struct sh_json_field *field,
                         double *out)
{
    if (!sh_json_cursor_number(cursor, object, field->key, out)) {
        *out = 0.0;
        return false;
    }
    const char *offence = find_offence(field->rule, *out);
    if (offence != NULL) {
        sh_json_cursor_fail(cursor, SH_ERR_FORMAT, field->key, offence, field->todo);
    }
    return offence == NULL;
}

static bool parse_text(struct sh_json_cursor *cursor,
                       const json_t *object,
                       const struct sh_json_field *field,
                       char *out)
{
    out[0] = '\0';
    if (!sh_json_cursor_text(cursor, object, field->key, out, field->n_bytes)) {
        return false;
    }
    if (field->type == SH_JSON_FIELD_DATE && !sh_json_field_is_date(out)) {
        sh_json_cursor_fail(cursor, SH_ERR_FORMAT, field->key, "is not a date",
                            "write it as 2026-05-14");
    }
    return out[0] != '\0';
}

static bool parse_field(struct sh_json_cursor *cursor,
                        const json_t *object,
                        const struct sh_json_field *field,
                        char *member)
{
    struct sh_mark_number given = {0};
    double number = 0.0;
    uint64_t count = 0;
    bool was_found = false;
    switch (field->type) {
    case SH_JSON_FIELD_NUMBER:
        was_found = parse_number(cursor, object, field, &number);
        memcpy(member, &number, sizeof number);
        return was_found;
    case SH_JSON_FIELD_GIVEN:
        given.is_given = parse_number(cursor, object, field, &given.value);
        memcpy(member, &given, sizeof given);
        return given.is_given;
    case SH_JSON_FIELD_COUNT:
        was_found = sh_json_cursor_count(cursor, object, field->key, &count);
        memcpy(member, &count, sizeof count);
        return was_found;
    case SH_JSON_FIELD_TEXT:
    case SH_JSON_FIELD_DATE:
    default:
        return parse_text(cursor, object, field, member);
    }
}

void sh_json_field_parse(struct sh_json_cursor *cursor,
                         const json_t *object,
                         const struct sh_json_field *fields,
                         size_t n_fields,
                         void *record)
{
    for (size_t i = 0; i < n_fields; i++) {
        char *member = (char *)record + fields[i].offset_bytes;
        bool was_found = parse_field(cursor, object, &fields[i], member);
        sh_json_cursor_need(cursor, was_found || !fields[i].is_needed, fields[i].key);
    }
}

static void format_number(struct sh_json_put *put,
                          json_t *object,
                          const struct sh_json_field *field,
                          double value)
{
    bool is_there = json_object_get(object, field->key) != NULL;
    /* NaN has to reach the check of put, hence not "fabs(value) > 0". */
    if (is_there || field->is_needed || !(fabs(value) <= 0.0)) {
        sh_json_put_number(put, object, field->key, value);
    }
}

static void format_given(struct sh_json_put *put,
                         json_t *object,
                         const struct sh_json_field *field,
                         const struct sh_mark_number *given)
{
    if (given->is_given) {
        sh_json_put_number(put, object, field->key, given->value);
    } else {
        sh_json_put_nothing(put, object, field->key);
    }
}

static void format_count(struct sh_json_put *put,
                         json_t *object,
                         const struct sh_json_field *field,
                         uint64_t count)
{
    if (count > 0 || field->is_needed || json_object_get(object, field->key) != NULL) {
        sh_json_put_count(put, object, field->key, count);
    }
}

static void format_text(struct sh_json_put *put,
                        json_t *object,
                        const struct sh_json_field *field,
                        const char *text)
{
    if (text[0] != '\0') {
        sh_json_put_text(put, object, field->key, text);
    } else {
        sh_json_put_nothing(put, object, field->key);
    }
}

static void format_field(struct sh_json_put *put,
                         json_t *object,
                         const struct sh_json_field *field,
                         const char *member)
{
    struct sh_mark_number given;
    double number;
    uint64_t count;
    switch (field->type) {
    case SH_JSON_FIELD_NUMBER:
        memcpy(&number, member, sizeof number);
        format_number(put, object, field, number);
        break;
    case SH_JSON_FIELD_GIVEN:
        memcpy(&given, member, sizeof given);
        format_given(put, object, field, &given);
        break;
    case SH_JSON_FIELD_COUNT:
        memcpy(&count, member, sizeof count);
        format_count(put, object, field, count);
        break;
    case SH_JSON_FIELD_TEXT:
    case SH_JSON_FIELD_DATE:
    default:
        format_text(put, object, field, member);
        break;
    }
}

void sh_json_field_format(struct sh_json_put *put,
                          json_t *object,
                          const struct sh_json_field *fields,
                          size_t n_fields,
                          const void *record)
{
    for (size_t i = 0; i < n_fields; i++) {
        format_field(put, object, &fields[i], (const char *)record + fields[i].offset_bytes);
    }
}
