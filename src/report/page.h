/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_REPORT_PAGE_H
#define SH_REPORT_PAGE_H

#include "base/text.h"
#include "finding/analysis.h"
#include "finding/thresholds.h"
#include "measure/trace.h"

/* One recording of a page. Borrows all. */
struct sh_page {
    const struct sh_analysis *analysis;
    const struct sh_thresholds *thresholds; /* the limits that are drawn */
    const struct sh_trace *traces;          /* [n_shots] of the analysis; NULL: no curves */
    const struct sh_stream *streams;        /* [n_streams], for their calibration */
    size_t n_streams;                       /* 0: nothing is said of it */
};

/*
 * Appends the report of n recordings (1 or more), one after the other, as one HTML file that
 * stands alone: sentences first, then each draw on a common time axis, the force around the
 * clicker, hold times, tremor, all figures, what is wrong with the data, how the sensors were
 * calibrated, and at the end the cautions. Drawings are inline, with real text; no script,
 * nothing from a network (its own policy forbids both); for screens from 360 px, light and
 * dark, and for grey print. The markup is well-formed XML too. Bytes of names that are no
 * UTF-8, and control characters, become U+FFFD. SH_ERR_MEMORY, SH_ERR_FULL (text's limit); text
 * then holds a part, and the same status. Cost: O(shots). Any thread. Test:
 * tests/report/test_page.c.
 */
enum sh_status sh_page_write(const struct sh_page *pages, size_t n, struct sh_text *text);

#endif
