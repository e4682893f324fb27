/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_REPORT_CONSISTENCY_PLOT_H
#define SH_REPORT_CONSISTENCY_PLOT_H

#include "base/text.h"
#include "report/consistency_sheet.h"
#include "report/terminal_grid.h"

/*
 * Appends the holds arrow by arrow for a terminal of 80 columns: o without a clock, c under
 * one, the chart's limits as levels and a bar of the 95 % interval of
 * each. Nothing where no hold is known. Statuses of sh_terminal_plot_draw. Any
 * thread. Test: tests/report/test_consistency_sheet.c.
 */
enum sh_status sh_consistency_plot_draw(const struct sh_consistency_sheet *sheet,
                                        enum sh_terminal_charset charset,
                                        struct sh_text *text);

#endif
