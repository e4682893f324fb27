/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_REPORT_LOAD_PAGE_H
#define SH_REPORT_LOAD_PAGE_H

#include "base/text.h"
#include "report/load_sheet.h"

/*
 * Appends a sheet as one HTML file that stands alone, for a specialist to print: cautions, the
 * impulse by day as a drawing and as a table, shares, weeks, limits, ratings, what stands
 * behind the figures, the ratio with what speaks against it. Every number has its unit. No
 * script, nothing from a network; for screens from 360 px, light and dark, and for grey print.
 * The markup is well-formed XML too. SH_ERR_MEMORY, SH_ERR_FULL. Cost: O(days). Any thread.
 * Test: tests/report/test_load_words.c.
 */
enum sh_status sh_load_page_write(const struct sh_load_sheet *sheet, struct sh_text *text);

#endif
