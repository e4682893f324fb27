/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_REPORT_CURVE_SET_H
#define SH_REPORT_CURVE_SET_H

#include <stdbool.h>
#include <stddef.h>

#include "base/text.h"
#include "report/plot_frame.h"

/*
 * Curves of several shots laid over each other in one plot: thin lines, dashed ones with the
 * draw's number for those that stand out, and a thick line at the median of all. Any thread.
 * Test of all: tests/report/test_curve_set.c.
 */

#define SH_CURVE_SET_POINTS_MAX 512u
#define SH_CURVE_SET_MEDIAN_MAX 120u /* points of the median */
#define SH_CURVE_SET_MEDIAN_OF  3u   /* fewer curves have no median line */

struct sh_curve {
    unsigned number; /* of the draw */
    bool is_marked;
    size_t n;                          /* up to SH_CURVE_SET_POINTS_MAX */
    double x[SH_CURVE_SET_POINTS_MAX]; /* ascending */
    double y[SH_CURVE_SET_POINTS_MAX];
};

/*
 * Draws n curves on a frame, whose ground is drawn already: first the plain ones, then the
 * marked, then the median. What lies outside the frame is cut off. scratch[n] is the caller's.
 */
void sh_curve_set_draw(struct sh_text *text,
                       const struct sh_plot_frame *frame,
                       const struct sh_curve *curves,
                       size_t n,
                       double *scratch);

/* The curve's value at x by straight lines; false outside its points. */
bool sh_curve_set_find_value(const struct sh_curve *curve, double x, double *y);

#endif
