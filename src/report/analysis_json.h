/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_REPORT_ANALYSIS_JSON_H
#define SH_REPORT_ANALYSIS_JSON_H

#include "base/text.h"
#include "finding/analysis.h"

/* What the head of a result says: its format, and the program whose figures it holds. */
#define SH_ANALYSIS_JSON_FORMAT  "stringhand-analysis"
#define SH_ANALYSIS_JSON_VERSION 1
#define SH_ANALYSIS_JSON_PROGRAM "stringhand " SH_VERSION

/*
 * Appends the result of a recording as one JSON object (docs/machine-output.md) with a line
 * break behind it, one line a shot. Numbers carry all digits of a double; the same analysis
 * gives the same bytes. SH_ERR_MEMORY, SH_ERR_FULL (text's limit); text then holds a part, and
 * the same status. Memory beyond text: one shot's worth. Cost: O(shots). Any thread.
 * Test: tests/report/test_analysis_json.c.
 */
enum sh_status sh_analysis_json_write(const struct sh_analysis *analysis, struct sh_text *text);

/*
 * Appends one shot as it stands in the list above, on one line, without an end of line.
 * Failures stay in text->status.
 */
void sh_analysis_json_write_shot(const struct sh_shot_record *record, struct sh_text *text);

#endif
