/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_REPORT_COMPARISON_PAGE_H
#define SH_REPORT_COMPARISON_PAGE_H

#include "base/text.h"
#include "report/comparison_sheet.h"

/*
 * Appends a comparison as one HTML file that stands alone, for a coach or specialist to print:
 * what was found in sentences, a drawing of all changes with their limits, the same as a table
 * with units, how it was worked out, cautions. No script, nothing from a network; for screens
 * from 360 px, light and dark, and for grey print. The markup is well-formed XML too. Bytes of
 * names that are no UTF-8, and control characters, become U+FFFD. SH_ERR_MEMORY, SH_ERR_FULL.
 * Cost: O(figures). Any thread. Test: tests/report/test_comparison_page.c.
 */
enum sh_status sh_comparison_page_write(const struct sh_comparison_sheet *sheet,
                                        struct sh_text *text);

#endif
