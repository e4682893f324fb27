/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_REPORT_CLICK_PLOT_H
#define SH_REPORT_CLICK_PLOT_H

#include "base/text.h"
#include "finding/analysis.h"
#include "measure/trace.h"

/*
 * Appends a drawing of the force around the clicker, all shots laid over each other: time from
 * the click, force less the shot's own hold force. Where no shot has a click, time from the
 * release. Shots with creep, flinch or collapse are dashed and numbered. traces[n_shots] go
 * with the analysis's shots. Nothing is appended where no shot has a trace. *is_by_release
 * tells which time it is. SH_ERR_MEMORY goes to text->status. Cost: O(shots). Any thread. Test:
 * tests/report/test_click_plot.c.
 */
void sh_click_plot_draw(struct sh_text *text,
                        const struct sh_analysis *analysis,
                        const struct sh_trace *traces,
                        bool *is_by_release);

#endif
