/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_REPORT_CONSISTENCY_CSV_H
#define SH_REPORT_CONSISTENCY_CSV_H

#include "base/text.h"
#include "report/consistency_sheet.h"

/*
 * Appends a study as RFC 4180, one row a measure and figure. SH_ERR_MEMORY, SH_ERR_FULL. Any
 * thread. Test: tests/report/test_consistency_sheet.c.
 */
enum sh_status sh_consistency_csv_write(const struct sh_consistency_sheet *sheet,
                                        struct sh_text *text);

#endif
