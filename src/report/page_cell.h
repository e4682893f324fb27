/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_REPORT_PAGE_CELL_H
#define SH_REPORT_PAGE_CELL_H

#include "base/text.h"

/*
 * Appends a figure as a table's cell. label, NULL for none, is its column's name, which a
 * narrow screen shows beside it (table class "stack", report/page_style.h). Where a page lets
 * lines end in cells of class "two" (white-space), it is before the "±" or behind the " to",
 * never before a unit. Both texts are escaped. Failures stay in text->status. Any thread. Test:
 * tests/report/test_page_cell.c.
 */
void sh_page_cell_put(struct sh_text *text, const char *label, const char *figure);

#endif
