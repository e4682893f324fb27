/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_REPORT_SHOT_JSON_H
#define SH_REPORT_SHOT_JSON_H

#include <jansson.h>

#include "finding/finding.h"

/*
 * Gives one shot as a JSON object, an entry of "shots" of docs/machine-output.md: every key is
 * there, in the same order always, null where unknown. A list of which no part is known is
 * null. The caller owns the reference; NULL when memory has run out. Cost: O(keys). Any thread.
 * Test: tests/report/test_analysis_json.c.
 */
json_t *sh_shot_json_make(const struct sh_shot_record *record);

/*
 * Gives any string as a JSON string: bytes that are not UTF-8 become U+FFFD. NULL when memory
 * has run out.
 */
json_t *sh_shot_json_make_string(const char *string);

#endif
