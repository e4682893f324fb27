/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_REPORT_LOAD_CSV_H
#define SH_REPORT_LOAD_CSV_H

#include "base/text.h"
#include "report/load_sheet.h"

/*
 * Appends a sheet as CSV (RFC 4180): a row a day shown, with the names of the JSON; lists as
 * name_1 to name_3 (index, middle, ring), unknown figures empty. The same sheet gives the same
 * bytes. SH_ERR_MEMORY, SH_ERR_FULL. Any thread. Test: tests/report/test_load_sheet.c.
 */
enum sh_status sh_load_csv_write(const struct sh_load_sheet *sheet, struct sh_text *text);

#endif
