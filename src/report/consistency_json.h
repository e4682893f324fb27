/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_REPORT_CONSISTENCY_JSON_H
#define SH_REPORT_CONSISTENCY_JSON_H

#include "base/text.h"
#include "report/consistency_sheet.h"

/*
 * Appends a study as one JSON object, "stringhand-consistency" of docs/consistency.md.
 * SH_ERR_MEMORY, SH_ERR_FULL. Any thread. Test: tests/report/test_consistency_sheet.c.
 */
enum sh_status sh_consistency_json_write(const struct sh_consistency_sheet *sheet,
                                         struct sh_text *text);

#endif
