/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_REPORT_LOAD_PLOT_H
#define SH_REPORT_LOAD_PLOT_H

#include "base/text.h"
#include "report/load_sheet.h"

/*
 * Draws the impulse of each day shown: one bar a day, the fingers one above the other with
 * textures of their own; a question mark where a part of it is unknown (the bar is then what is
 * known), a dash on days of rest. Nothing where no impulse is known. Test:
 * tests/report/test_load_words.c.
 */
void sh_load_plot_draw(struct sh_text *text, const struct sh_load_sheet *sheet);

#endif
