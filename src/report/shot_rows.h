/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_REPORT_SHOT_ROWS_H
#define SH_REPORT_SHOT_ROWS_H

#include "base/text.h"
#include "finding/analysis.h"
#include "report/ruler.h"

/*
 * The shots of a recording as rows on one time axis that ends at the release (at the let-down
 * for those): draw, hold, clicker and release, told apart by texture, place and label. Any
 * thread. Test of all: tests/report/test_shot_rows.c.
 */

/*
 * The common axis, s before the end. It reaches as far back as the longest draw, yet no further
 * than twice the mean one: a single long draw must not squeeze the others.
 */
struct sh_ruler sh_shot_rows_fit(const struct sh_analysis *analysis);

/* The ticks of the axis with what the textures mean; stands above the rows. */
void sh_shot_rows_draw_head(struct sh_text *text, const struct sh_ruler *axis);

/*
 * One row. What reaches beyond the axis is cut, with its true length said. Without a release
 * or let-down the row says so; without draw start or full draw it has its markers only.
 */
void sh_shot_rows_draw(struct sh_text *text,
                       const struct sh_ruler *axis,
                       const struct sh_shot_record *record);

#endif
