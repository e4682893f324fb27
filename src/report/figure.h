/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_REPORT_FIGURE_H
#define SH_REPORT_FIGURE_H

#include "base/quantity.h"

#define SH_FIGURE_BYTES   64u
#define SH_FIGURE_UNKNOWN "-"

/*
 * Writes a quantity for people, times factor (a change of unit, not 0): "3.607 ±0.020", where
 * the second figure is half the width of the 95 % interval and decides the number of decimals
 * (two significant digits of it, 0 to 3 decimals; never shown as nothing); "0.31 (0.18 to
 * 0.62)" where the error is not normal; "-" where unknown. An exact figure has no "±". Any
 * thread. Test: tests/report/test_figure.c.
 */
void sh_figure_format(const struct sh_quantity *quantity,
                      double factor,
                      char figure[SH_FIGURE_BYTES]);

/* The value alone, with the same decimals; "-" where unknown. */
void sh_figure_format_value(const struct sh_quantity *quantity,
                            double factor,
                            char figure[SH_FIGURE_BYTES]);

/*
 * For running text: at most n_decimals_max decimals, and the uncertainty only where it shows in
 * them: "3.61", "186 ±1". "-" where unknown.
 */
void sh_figure_format_short(const struct sh_quantity *quantity,
                            double factor,
                            int n_decimals_max,
                            char figure[SH_FIGURE_BYTES]);

#endif
