/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_REPORT_CLOCK_TABLE_H
#define SH_REPORT_CLOCK_TABLE_H

#include "base/text.h"
#include "finding/analysis.h"

/*
 * Appends what the clock left for a terminal of n_columns (40 or more): the seconds left at the
 * release of each arrow, a line a clock, the median of each arrow over the clocks where there
 * are three or more; then what let-downs cost and which arrows went after the time. Clocks of
 * one arrow each (alternating shooting) stand in one line. Nothing where no draw was under a
 * clock. Failures stay in text->status. Cost: O(shots x arrows of a clock). Any thread. Test:
 * tests/report/test_clock_table.c.
 */
void sh_clock_table_write(const struct sh_analysis *analysis,
                          size_t n_columns,
                          struct sh_text *text);

#endif
