/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_REPORT_COMPARISON_PLOT_H
#define SH_REPORT_COMPARISON_PLOT_H

#include "base/text.h"
#include "report/comparison_sheet.h"

/*
 * Appends a drawing of the known figures of a comparison, of the fingers or of the rest, one
 * below the other, each on its own scale around 0: the change with its 95 % limits over a band
 * of what is too small to have been seen, and the same in figures with their unit. A disc is a
 * change that stands, a square none that does. Nothing is appended where no figure is known.
 * Failures stay in text->status. Cost: O(figures). Any thread. Test:
 * tests/report/test_comparison_page.c.
 */
void sh_comparison_plot_draw(struct sh_text *text,
                             const struct sh_comparison_sheet *sheet,
                             bool is_of_fingers);

#endif
