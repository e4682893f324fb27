/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_REPORT_COMPARISON_TABLE_H
#define SH_REPORT_COMPARISON_TABLE_H

#include "base/text.h"
#include "report/comparison_sheet.h"

/*
 * Writes a comparison for people: sentences, then a table of figures, no wider than a terminal
 * of 80 columns. SH_ERR_MEMORY. Test: tests/report/test_comparison_words.c.
 */
enum sh_status sh_comparison_table_write(const struct sh_comparison_sheet *sheet,
                                         struct sh_text *text);

#endif
