/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/curve_set.h"

#include <math.h>
#include <stdio.h>

#include "report/svg.h"
#include "signal/stats.h"

#define LABEL_BACK_PX 4.0
#define LABEL_PART    0.75 /* of the frame, from the left, in which numbers stand */

bool sh_curve_set_find_value(const struct sh_curve *curve, double x, double *y)
{
    if (curve->n < 2 || x < curve->x[0] || x > curve->x[curve->n - 1]) {
        return false;
    }
    size_t low = 0;
    size_t high = curve->n - 1;
    while (high - low > 1) {
        size_t middle = (low + high) / 2;
        if (curve->x[middle] <= x) {
            low = middle;
        } else {
            high = middle;
        }
    }
    double width = curve->x[high] - curve->x[low];
    double part = width > 0.0 ? (x - curve->x[low]) / width : 0.0;
    *y = curve->y[low] + part * (curve->y[high] - curve->y[low]);
    return true;
}

/* Points as shares of the frame's box. */
static void draw_points(struct sh_text *text,
                        const struct sh_plot_frame *frame,
                        const char *look,
                        const struct sh_curve *curve)
{
    double x[SH_CURVE_SET_POINTS_MAX];
    double y[SH_CURVE_SET_POINTS_MAX];
    for (size_t i = 0; i < curve->n; i++) {
        x[i] = sh_ruler_get_share(&frame->x, curve->x[i]);
        y[i] = 1.0 - sh_ruler_get_share(&frame->y, curve->y[i]);
    }
    const double box[4] = {frame->left, frame->top_px, frame->right - frame->left,
                           frame->bottom_px - frame->top_px};
    sh_svg_curve(text, look, box, x, y, curve->n);
}

/* Where a curve differs most from its own mean, in the first part of the frame. */
static bool
find_landmark(const struct sh_plot_frame *frame, const struct sh_curve *curve, size_t *landmark)
{
    double until = frame->x.lo + LABEL_PART * (frame->x.hi - frame->x.lo);
    double sum = 0.0;
    double farthest = -1.0;
    size_t n = 0;
    for (size_t i = 0; i < curve->n && curve->x[i] <= until; i++) {
        sum += curve->y[i];
        n++;
    }
    for (size_t i = 0; i < n; i++) {
        bool is_inside = curve->x[i] >= frame->x.lo && curve->y[i] <= frame->y.hi &&
                         curve->y[i] >= frame->y.lo;
        double away = fabs(curve->y[i] - sum / (double)n);
        if (is_inside && away > farthest) {
            farthest = away;
            *landmark = i;
        }
    }
    return farthest >= 0.0;
}

static void draw_marked(struct sh_text *text,
                        const struct sh_plot_frame *frame,
                        const struct sh_curve *curve)
{
    size_t i = 0;
    char number[16];
    draw_points(text, frame, "curve-marked", curve);
    if (!find_landmark(frame, curve, &i)) {
        return;
    }
    (void)snprintf(number, sizeof number, "%u", curve->number);
    const double at[2] = {sh_plot_frame_get_x(frame, curve->x[i]),
                          sh_plot_frame_get_y(frame, curve->y[i]) - LABEL_BACK_PX};
    sh_svg_label(text, "phase", at, SH_SVG_START, number);
}

/* Median at each of a row of places that at least half of the curves reach. */
static void draw_median(struct sh_text *text,
                        const struct sh_plot_frame *frame,
                        const struct sh_curve *curves,
                        size_t n,
                        double *scratch)
{
    struct sh_curve middle = {0};
    for (size_t k = 0; k < SH_CURVE_SET_MEDIAN_MAX; k++) {
        double part = (double)k / (SH_CURVE_SET_MEDIAN_MAX - 1);
        double x = frame->x.lo + part * (frame->x.hi - frame->x.lo);
        size_t n_there = 0;
        for (size_t i = 0; i < n; i++) {
            n_there += sh_curve_set_find_value(&curves[i], x, &scratch[n_there]) ? 1 : 0;
        }
        if (2 * n_there >= n && n_there > 0) {
            middle.x[middle.n] = x;
            middle.y[middle.n++] = sh_stats_select_median(scratch, n_there);
        }
    }
    draw_points(text, frame, "curve-middle", &middle);
}

void sh_curve_set_draw(struct sh_text *text,
                       const struct sh_plot_frame *frame,
                       const struct sh_curve *curves,
                       size_t n,
                       double *scratch)
{
    for (size_t i = 0; i < n; i++) {
        if (!curves[i].is_marked) {
            draw_points(text, frame, "curve", &curves[i]);
        }
    }
    for (size_t i = 0; i < n; i++) {
        if (curves[i].is_marked) {
            draw_marked(text, frame, &curves[i]);
        }
    }
    if (n >= SH_CURVE_SET_MEDIAN_OF) {
        draw_median(text, frame, curves, n, scratch);
    }
}
