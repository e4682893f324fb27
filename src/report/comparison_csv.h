/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_REPORT_COMPARISON_CSV_H
#define SH_REPORT_COMPARISON_CSV_H

#include "base/text.h"
#include "report/comparison_sheet.h"

/*
 * Writes a comparison's figures as comma-separated values (RFC 4180), one row a figure, SI, and
 * empty where unknown; docs/compare.md lists the columns. SH_ERR_MEMORY. Test:
 * tests/report/test_comparison_words.c.
 */
enum sh_status sh_comparison_csv_write(const struct sh_comparison_sheet *sheet,
                                       struct sh_text *text);

#endif
