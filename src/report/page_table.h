/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_REPORT_PAGE_TABLE_H
#define SH_REPORT_PAGE_TABLE_H

#include "base/text.h"
#include "finding/analysis.h"

/*
 * Appends the figures of all draws as HTML tables of eight columns: one row a draw, one column
 * a measure that any draw knows (report/column.h), each figure with its 95 % interval; then a
 * list of what no draw shows, with the reason the first shot gives. Nothing is appended without
 * draws. recording is its place on the page, for the links to draws. Failures stay in
 * text->status. Cost: O(shots). Any thread. Test: tests/report/test_page_table.c.
 */
void sh_page_table_write(struct sh_text *text,
                         const struct sh_analysis *analysis,
                         size_t recording);

#endif
