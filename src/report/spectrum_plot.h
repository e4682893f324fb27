/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_REPORT_SPECTRUM_PLOT_H
#define SH_REPORT_SPECTRUM_PLOT_H

#include "base/text.h"
#include "finding/analysis.h"
#include "measure/trace.h"

/*
 * Appends a drawing of the tremor spectra of the force, one curve a hold, with their median:
 * the root of the density, N per root Hz, from 2 to 25 Hz. Holds with a rise of tremor are
 * dashed and numbered. traces[n_shots] go with the analysis's shots. Nothing is appended where
 * no hold has a spectrum. SH_ERR_MEMORY goes to text->status. Cost: O(shots). Any thread. Test:
 * tests/report/test_click_plot.c.
 */
void sh_spectrum_plot_draw(struct sh_text *text,
                           const struct sh_analysis *analysis,
                           const struct sh_trace *traces);

#endif
