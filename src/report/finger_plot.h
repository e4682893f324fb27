/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_REPORT_FINGER_PLOT_H
#define SH_REPORT_FINGER_PLOT_H

#include "base/text.h"
#include "finding/analysis.h"

/*
 * Appends a drawing for each finger, one below the other and all of one scale: its share of the
 * load draw by draw with its 95 % interval, and a line to the right of it that rises or falls
 * by as much as the share changed through the hold. Where that is a slide of the ring finger
 * (the finding), the time before the release is written beside it. Fingers are told apart by
 * place and name alone. Nothing is appended where no share is known. Failures stay in
 * text->status. Cost: O(shots). Any thread. Test: tests/report/test_finger_plot.c.
 */
void sh_finger_plot_draw(struct sh_text *text, const struct sh_analysis *analysis);

#endif
