/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_REPORT_RULER_H
#define SH_REPORT_RULER_H

#include <stddef.h>

/*
 * The scale of a plot: a range between round numbers, with ticks 1, 2 or 5 times a power of ten
 * apart. Any thread. Test of all: tests/report/test_ruler.c.
 */
struct sh_ruler {
    double lo; /* the first tick */
    double hi; /* the last tick */
    double step;
    size_t n_ticks; /* from lo to hi, 2 or more */
    int n_decimals; /* that the ticks need */
};

#define SH_RULER_TICK_BYTES 32u

/*
 * Fits the scale to a range: at most n_ticks_max (3 or more) ticks, the outer ones at or beyond
 * lo and hi. Where lo and hi are one or not finite, the range is widened by 1 around what is
 * there (0 where nothing is).
 */
struct sh_ruler sh_ruler_fit(double lo, double hi, size_t n_ticks_max);

/* Where a value lies: 0 at lo, 1 at hi; beyond them outside. */
double sh_ruler_get_share(const struct sh_ruler *axis, double value);

/* Value of tick i (0 up to n_ticks), and its text with the decimals it needs. */
double sh_ruler_get_tick(const struct sh_ruler *axis, size_t i);
void sh_ruler_format_tick(const struct sh_ruler *axis,
                          size_t i,
                          char text[SH_RULER_TICK_BYTES]);

#endif
