/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_REPORT_PAGE_H
#define SH_REPORT_PAGE_H

#include "base/text.h"
#include "finding/analysis.h"
#include "finding/thresholds.h"

/* What a page shows. Borrows all. */
struct sh_page {
    const struct sh_analysis *analysis;
    const struct sh_thresholds *thresholds; /* the limits that are drawn */
};

/*
 * Appends the report of a recording as one HTML file that stands alone: sentences first, then
 * each draw on a common time axis, hold times, tremor, all figures, what is wrong with the
 * data, cautions. Drawings are inline, with real text; no script, nothing from a network (its
 * own policy forbids both); for screens from 360 px, light and dark, and for grey print. The
 * markup is well-formed XML too. Bytes of names that are no UTF-8, and control characters,
 * become U+FFFD. SH_ERR_MEMORY, SH_ERR_FULL (text's limit); text then holds a part, and the
 * same status. Cost: O(shots). Any thread. Test: tests/report/test_page.c.
 */
enum sh_status sh_page_write(const struct sh_page *page, struct sh_text *text);

#endif
