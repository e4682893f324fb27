/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_REPORT_HOLD_PLOT_H
#define SH_REPORT_HOLD_PLOT_H

#include "base/text.h"
#include "finding/analysis.h"

/*
 * Appends a drawing of hold times arrow by arrow, each with its 95 % interval: a disc for a
 * shot, a hollow diamond for a let-down (from full draw to there), a triangle under the edge
 * for one beyond the scale, whose value is written. Dashed lines at the limits (s; not finite:
 * none). The scale reaches 1.5 times the upper limit at most (20 s without one). Nothing is
 * appended where no hold is known. Failures stay in text->status. Cost: O(shots). Any thread.
 * Test: tests/report/test_hold_plot.c.
 */
void sh_hold_plot_draw(struct sh_text *text,
                       const struct sh_analysis *analysis,
                       const double limits_s[2]);

#endif
