/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_REPORT_SHOT_FIELD_H
#define SH_REPORT_SHOT_FIELD_H

#include <stdbool.h>
#include <stddef.h>

#include "base/status.h"
#include "finding/finding.h"

/*
 * Events and measures of a shot as a flat row of named fields, each with the key that
 * docs/machine-output.md gives it. The machine-readable writers all read this row, so that
 * names and order cannot differ between them.
 */

#define SH_SHOT_FIELD_PARTS_MAX SH_PARTS_BANDS_COUNT

enum sh_shot_field_group { SH_SHOT_FIELD_EVENTS, SH_SHOT_FIELD_MEASURES };

enum sh_shot_field_type { SH_SHOT_FIELD_NUMBER, SH_SHOT_FIELD_TEXT, SH_SHOT_FIELD_ANSWER };

struct sh_shot_field {
    enum sh_shot_field_group group;
    enum sh_shot_field_type type;
    const char *key;                        /* "release_u_s"; valid during the visit */
    size_t n_parts;                         /* 1, or the length of a list (3, 4) */
    bool is_known[SH_SHOT_FIELD_PARTS_MAX]; /* [n_parts]; false: null */
    double number[SH_SHOT_FIELD_PARTS_MAX]; /* SH_SHOT_FIELD_NUMBER, where known; finite */
    const char *text;                       /* SH_SHOT_FIELD_TEXT, where known; static */
    bool answer;                            /* SH_SHOT_FIELD_ANSWER, where known */
};

/* Where the fields go: take gets one field; anything but SH_OK ends the walk. */
struct sh_shot_field_sink {
    enum sh_status (*take)(void *context, const struct sh_shot_field *field);
    void *context;
};

/*
 * Hands each event and then each measure to the sink, always the same fields in the same order:
 * a value, its standard uncertainty, and the 95 % limits, which are unknown where the error is
 * normal. A number that is not finite counts as unknown. Returns SH_OK or what the sink
 * returned. Cost: O(fields). Any thread. Test: tests/report/test_shot_field.c.
 */
enum sh_status sh_shot_field_each(const struct sh_shot_record *record,
                                  const struct sh_shot_field_sink *sink);

/* True where a part of the field is known. */
bool sh_shot_field_is_known(const struct sh_shot_field *field);

/*
 * The keys that the second pass moved ("kind", "release_s", "hold_time_s", ...): writes key
 * number i, in the order of the output, and returns true; false when there are no more, key
 * untouched. Cost: O(keys). Any thread.
 */
bool sh_shot_field_get_changed(const struct sh_shot_record *record,
                               size_t i,
                               char key[SH_CATALOG_KEY_BYTES]);

#endif
