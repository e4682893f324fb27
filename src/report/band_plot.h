/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_REPORT_BAND_PLOT_H
#define SH_REPORT_BAND_PLOT_H

#include "base/text.h"
#include "finding/analysis.h"

/*
 * Appends a drawing of the tremor by band (2-4, 4-8, 8-12, 12-25 Hz): each hold a
 * dot, side by side in its band in the order of the draws, and a bar at the band's median.
 * measure is SH_MEASURE_TREMOR_BAND or SH_MEASURE_BOW_TREMOR_BAND. Nothing is appended where no
 * band is known; SH_ERR_MEMORY goes to text->status. Cost: O(shots). Any thread. Test:
 * tests/report/test_band_plot.c.
 */
void sh_band_plot_draw(struct sh_text *text,
                       const struct sh_analysis *analysis,
                       enum sh_measure measure);

#endif
