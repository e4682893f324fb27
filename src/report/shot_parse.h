/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_REPORT_SHOT_PARSE_H
#define SH_REPORT_SHOT_PARSE_H

#include "finding/finding.h"
#include "recording/json_cursor.h"

/*
 * Reads one shot of a result back into *record, which it zeroes first: number, kind, events,
 * measures, quality, what the second pass moved, findings. Failures (a key of another type, a
 * name that is none) are kept in the cursor. Test: tests/report/test_analysis_parse.c.
 */
void sh_shot_parse(struct sh_json_cursor *cursor,
                   const json_t *shot,
                   struct sh_shot_record *record);

#endif
