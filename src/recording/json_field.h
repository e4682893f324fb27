/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_RECORDING_JSON_FIELD_H
#define SH_RECORDING_JSON_FIELD_H

#include <stdbool.h>
#include <stddef.h>

#include "recording/json_cursor.h"
#include "recording/json_put.h"

/*
 * One table a struct says which key holds which member, and serves both ways: reading an object
 * into the struct and writing the struct into the object.
 */

enum sh_json_field_type {
    SH_JSON_FIELD_NUMBER, /* double */
    SH_JSON_FIELD_GIVEN,  /* struct sh_mark_number */
    SH_JSON_FIELD_COUNT,  /* uint64_t */
    SH_JSON_FIELD_TEXT,   /* char[n_bytes] */
    SH_JSON_FIELD_DATE    /* char[n_bytes], "2026-05-14" */
};

/* What a number must be. */
enum sh_json_field_rule {
    SH_JSON_FIELD_ANY,
    SH_JSON_FIELD_FROM_0,  /* 0 or above */
    SH_JSON_FIELD_ABOVE_0, /* above 0 */
    SH_JSON_FIELD_NOT_0    /* anything but 0 */
};

struct sh_json_field {
    const char *key;
    size_t offset_bytes; /* offsetof the member */
    size_t n_bytes;      /* sizeof the member */
    enum sh_json_field_type type;
    enum sh_json_field_rule rule;
    bool is_needed;   /* reading fails where it is missing */
    const char *todo; /* what to do about a wrong value; may be NULL */
};

/*
 * Reads the fields of object into record. A missing number or count is 0, a missing text "",
 * a missing "given" number not given. Failures are kept in the cursor.
 * Test: tests/recording/test_json_field.c.
 */
void sh_json_field_parse(struct sh_json_cursor *cursor,
                         const json_t *object,
                         const struct sh_json_field *fields,
                         size_t n_fields,
                         void *record);

/*
 * Writes the fields of record into object. What reading would take a missing key for (0, "",
 * not given) is left out where the key is not there, unless the field is needed; texts and
 * "given" numbers that are gone are removed.
 */
void sh_json_field_format(struct sh_json_put *put,
                          json_t *object,
                          const struct sh_json_field *fields,
                          size_t n_fields,
                          const void *record);

/* True for "2026-05-14": the shape, a month of 1 to 12, a day of 1 to 31. */
bool sh_json_field_is_date(const char *text);

#endif
