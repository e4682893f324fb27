/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_REPORT_LOAD_TABLE_H
#define SH_REPORT_LOAD_TABLE_H

#include "base/text.h"
#include "report/load_sheet.h"

/*
 * Appends a sheet as text for a terminal of SH_ANALYSIS_TABLE_COLUMNS columns: a few lines a
 * day, unknown days in a row as one, then weeks, limits, ratings, sensors, the ratio with what
 * speaks against it, the cautions. SH_ERR_MEMORY, SH_ERR_FULL. Any thread. Test:
 * tests/report/test_load_words.c.
 */
enum sh_status sh_load_table_write(const struct sh_load_sheet *sheet, struct sh_text *text);

#endif
