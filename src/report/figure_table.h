/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_REPORT_FIGURE_TABLE_H
#define SH_REPORT_FIGURE_TABLE_H

#include "base/text.h"
#include "finding/analysis.h"

/*
 * Appends the figures of all shots with their uncertainties (report/column.h) for a terminal of
 * n_columns: blocks of as many columns as fit, one row a draw; then a legend, and by reason
 * what no shot shows. A column of which no shot knows the measure is left out of the blocks;
 * scores stand in the first where any arrow has one. Failures stay in text->status. Cost:
 * O(shots). Any thread. Test: tests/report/test_analysis_table.c.
 */
void sh_figure_table_write(const struct sh_analysis *analysis,
                           size_t n_columns,
                           struct sh_text *text);

#endif
