/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/hold_plot.h"

#include <math.h>
#include <stdio.h>

#include "report/plot_frame.h"
#include "report/svg.h"

#define SCALE_OF_LIMIT 1.5  /* a single long hold must not squeeze the others */
#define SCALE_MAX_S    20.0 /* without a limit */
#define AREA_PX        180.0
#define TICKS_MAX      6u
#define NUMBERS_MAX    10u /* labels along x */
#define COVERAGE_95    1.96
#define NUMBER_PX      15.0
#define TRIANGLE_PX    9.0

/* The hold of a draw: full draw to release, or to the let-down. */
static struct sh_quantity find_hold(const struct sh_shot_record *record)
{
    const struct sh_quantity *hold = sh_catalog_get(&record->measures, SH_MEASURE_HOLD_TIME, 0);
    const struct sh_quantity *full = &record->shot.event_s[SH_EVENT_FULL_DRAW];
    const struct sh_quantity *end = &record->shot.event_s[SH_EVENT_LET_DOWN];
    if (sh_quantity_is_known(hold) || !sh_quantity_is_known(full) ||
        !sh_quantity_is_known(end)) {
        return *hold;
    }
    return sh_quantity_known(end->value - full->value, hypot(end->u, full->u));
}

/* Top of the scale; 0 where no hold is known. */
static double find_top(const struct sh_analysis *analysis)
{
    double top_s = 0.0;
    for (size_t i = 0; i < analysis->n_shots; i++) {
        struct sh_quantity hold = find_hold(&analysis->shots[i]);
        if (sh_quantity_is_known(&hold)) {
            top_s = fmax(top_s, hold.value + COVERAGE_95 * hold.u);
        }
    }
    return top_s;
}

static double find_x(const struct sh_analysis *analysis, size_t i)
{
    return ((double)i + 0.75) / ((double)analysis->n_shots + 0.5);
}

static void draw_one(struct sh_text *text,
                     const struct sh_plot_frame *frame,
                     double x,
                     const struct sh_shot_record *record)
{
    struct sh_quantity hold = find_hold(record);
    if (!sh_quantity_is_known(&hold)) {
        return;
    }
    if (hold.value > frame->y.hi) {
        char value[32];
        (void)snprintf(value, sizeof value, "%.1f s", hold.value);
        sh_svg_marker(text, "mark", SH_SVG_TRIANGLE,
                      (const double[]){x, frame->top_px + TRIANGLE_PX});
        sh_svg_label(text, "tick", (const double[]){x, frame->top_px + 2.4 * TRIANGLE_PX},
                     SH_SVG_MIDDLE, value);
        return;
    }
    double lo_s = 0.0;
    double hi_s = 0.0;
    sh_quantity_interval(&hold, &lo_s, &hi_s);
    sh_svg_line(text, "doubt", (const double[]){x, sh_plot_frame_get_y(frame, fmax(lo_s, 0.0))},
                (const double[]){x, sh_plot_frame_get_y(frame, fmin(hi_s, frame->y.hi))});
    sh_svg_marker(text, "mark",
                  record->shot.kind == SH_SHOT_LET_DOWN ? SH_SVG_DIAMOND : SH_SVG_DISC,
                  (const double[]){x, sh_plot_frame_get_y(frame, hold.value)});
}

/* Numbers of the draws below the plot, as many as there is room for. */
static void draw_numbers(struct sh_text *text,
                         const struct sh_plot_frame *frame,
                         const struct sh_analysis *analysis)
{
    size_t every = (analysis->n_shots + NUMBERS_MAX - 1) / NUMBERS_MAX;
    for (size_t i = 0; i < analysis->n_shots; i += every) {
        char number[16];
        (void)snprintf(number, sizeof number, "%u", analysis->shots[i].shot.n);
        sh_svg_label(text, "tick",
                     (const double[]){find_x(analysis, i), frame->bottom_px + NUMBER_PX},
                     SH_SVG_MIDDLE, number);
    }
}

static void
draw_limits(struct sh_text *text, const struct sh_plot_frame *frame, const double limits_s[2])
{
    for (int i = 0; i < 2; i++) {
        if (isfinite(limits_s[i]) && limits_s[i] <= frame->y.hi) {
            double y = sh_plot_frame_get_y(frame, limits_s[i]);
            char label[48];
            (void)snprintf(label, sizeof label, "%s %.3g s",
                           i == 0 ? "short: under" : "long: over", limits_s[i]);
            sh_svg_line(text, "limit", (const double[]){0.0, y}, (const double[]){1.0, y});
            sh_svg_label(text, "tick", (const double[]){1.0, y - 3.0}, SH_SVG_END, label);
        }
    }
}

void sh_hold_plot_draw(struct sh_text *text,
                       const struct sh_analysis *analysis,
                       const double limits_s[2])
{
    double top_s = find_top(analysis);
    if (!(top_s > 0.0)) {
        return;
    }
    struct sh_ruler x = sh_ruler_fit(0.0, 1.0, 3);
    double most_s = isfinite(limits_s[1]) ? SCALE_OF_LIMIT * limits_s[1] : SCALE_MAX_S;
    struct sh_ruler y = sh_ruler_fit(0.0, fmin(top_s, most_s), TICKS_MAX);
    struct sh_plot_frame frame = sh_plot_frame_make(&x, &y, AREA_PX);
    frame.has_x_ticks = false;
    frame.x_name = "draw";
    frame.y_name = "hold (s)";
    sh_svg_open(text, sh_plot_frame_get_height(&frame), "Hold time of each draw in seconds");
    sh_plot_frame_draw(text, &frame);
    draw_limits(text, &frame, limits_s);
    for (size_t i = 0; i < analysis->n_shots; i++) {
        draw_one(text, &frame, find_x(analysis, i), &analysis->shots[i]);
    }
    draw_numbers(text, &frame, analysis);
    sh_svg_close(text);
}
