/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_REPORT_LOAD_JSON_H
#define SH_REPORT_LOAD_JSON_H

#include "base/text.h"
#include "report/load_sheet.h"

/*
 * Appends a sheet as JSON, "stringhand-load" version 1 (docs/load.md): days with their
 * averages, weeks, limits, ratings, sensors, what speaks against the ratio, the cautions. The
 * same sheet gives the same bytes. SH_ERR_MEMORY, SH_ERR_FULL, SH_ERR_NOT_FINITE: text is of no
 * use then. Any thread. Test: tests/report/test_load_sheet.c.
 */
enum sh_status sh_load_json_write(const struct sh_load_sheet *sheet, struct sh_text *text);

#endif
