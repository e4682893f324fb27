/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_REPORT_PLOT_FRAME_H
#define SH_REPORT_PLOT_FRAME_H

#include <stdbool.h>

#include "base/text.h"
#include "report/ruler.h"

/*
 * The ground of a plot: grid lines at the ticks of both axes with their labels and units. What
 * is drawn on it is placed by the two functions below. Any thread. Test of all:
 * tests/report/test_plot_frame.c.
 */
struct sh_plot_frame {
    struct sh_ruler x;
    struct sh_ruler y;
    double left; /* shares of the width */
    double right;
    double top_px;
    double bottom_px;
    const char *x_name; /* "time before the release (s)" */
    const char *y_name; /* stands above the plot, "force (N)" */
    bool has_x_ticks;   /* false: the caller labels x itself */
};

/* Pixels a drawing needs in all where its plot area is area_px high, and the frame in it. */
struct sh_plot_frame
sh_plot_frame_make(const struct sh_ruler *x, const struct sh_ruler *y, double area_px);
double sh_plot_frame_get_height(const struct sh_plot_frame *frame);

/* Draws grid, ticks and names. */
void sh_plot_frame_draw(struct sh_text *text, const struct sh_plot_frame *frame);

/* A value's place: share of the width, pixels from the top. */
double sh_plot_frame_get_x(const struct sh_plot_frame *frame, double value);
double sh_plot_frame_get_y(const struct sh_plot_frame *frame, double value);

#endif
