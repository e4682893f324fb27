/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_REPORT_ANALYSIS_CSV_H
#define SH_REPORT_ANALYSIS_CSV_H

#include "base/text.h"
#include "finding/analysis.h"

/*
 * Appends the result of a recording as comma-separated values after RFC 4180 (UTF-8, CRLF): a
 * head line, then one row a shot. The names are those of the JSON output; parts of a list are
 * name_1, name_2, ...; an unknown is an empty cell. "quality", "changed" and "findings" have as
 * many columns as the longest list of this recording (findings_1_code, findings_1_value, ...).
 * Numbers carry all digits of a double. SH_ERR_MEMORY, SH_ERR_FULL (text's limit); text then
 * holds a part, and the same status. Cost: O(shots). Any thread.
 * Test: tests/report/test_analysis_csv.c.
 */
enum sh_status sh_analysis_csv_write(const struct sh_analysis *analysis, struct sh_text *text);

#endif
