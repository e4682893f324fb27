/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_REPORT_CLOCK_SECTION_H
#define SH_REPORT_CLOCK_SECTION_H

#include "base/text.h"
#include "finding/analysis.h"

/*
 * Appends the section of a page that shows what the clock left: the seconds at the release of
 * each arrow, a row a clock, each a link to its draw; then what let-downs cost and which arrows
 * went after the time. Nothing where no draw was under a clock. recording is its place on the
 * page, for the links. Failures stay in text->status. Cost: O(shots x clocks). Any thread.
 * Test: tests/report/test_clock_section.c.
 */
void sh_clock_section_write(struct sh_text *text,
                            const struct sh_analysis *analysis,
                            size_t recording);

#endif
