/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/plot_frame.h"

#include "report/svg.h"

#define LEFT       0.0
#define RIGHT      1.0
#define TOP_PX     24.0 /* the name of y stands there */
#define BOTTOM_PX  40.0 /* ticks and name of x */
#define TICK_PX    15.0 /* from the plot's edge to the base line of its ticks */
#define NAME_PX    32.0
#define LABEL_LIFT 3.0 /* y labels stand on their grid line */

struct sh_plot_frame
sh_plot_frame_make(const struct sh_ruler *x, const struct sh_ruler *y, double area_px)
{
    return (struct sh_plot_frame){.x = *x,
                                  .y = *y,
                                  .left = LEFT,
                                  .right = RIGHT,
                                  .top_px = TOP_PX,
                                  .bottom_px = TOP_PX + area_px,
                                  .x_name = "",
                                  .y_name = "",
                                  .has_x_ticks = true};
}

double sh_plot_frame_get_height(const struct sh_plot_frame *frame)
{
    return frame->bottom_px + BOTTOM_PX;
}

static void draw_x(struct sh_text *text, const struct sh_plot_frame *frame)
{
    for (size_t i = 0; i < frame->x.n_ticks; i++) {
        char tick[SH_RULER_TICK_BYTES];
        double x = sh_plot_frame_get_x(frame, sh_ruler_get_tick(&frame->x, i));
        enum sh_svg_anchor anchor = i == 0                     ? SH_SVG_START
                                    : i + 1 < frame->x.n_ticks ? SH_SVG_MIDDLE
                                                               : SH_SVG_END;
        sh_ruler_format_tick(&frame->x, i, tick);
        sh_svg_line(text, "grid", (const double[]){x, frame->top_px},
                    (const double[]){x, frame->bottom_px});
        sh_svg_label(text, "tick", (const double[]){x, frame->bottom_px + TICK_PX}, anchor,
                     tick);
    }
}

static void draw_y(struct sh_text *text, const struct sh_plot_frame *frame)
{
    for (size_t i = 0; i < frame->y.n_ticks; i++) {
        char tick[SH_RULER_TICK_BYTES];
        double y = sh_plot_frame_get_y(frame, sh_ruler_get_tick(&frame->y, i));
        sh_ruler_format_tick(&frame->y, i, tick);
        sh_svg_line(text, "grid", (const double[]){frame->left, y},
                    (const double[]){frame->right, y});
        sh_svg_label(text, "tick", (const double[]){frame->left, y - LABEL_LIFT}, SH_SVG_START,
                     tick);
    }
}

void sh_plot_frame_draw(struct sh_text *text, const struct sh_plot_frame *frame)
{
    double middle = (frame->left + frame->right) / 2.0;
    if (frame->has_x_ticks) {
        draw_x(text, frame);
    }
    draw_y(text, frame);
    sh_svg_label(text, "name", (const double[]){frame->right, 10.0}, SH_SVG_END, frame->y_name);
    sh_svg_label(text, "name", (const double[]){middle, frame->bottom_px + NAME_PX},
                 SH_SVG_MIDDLE, frame->x_name);
}

double sh_plot_frame_get_x(const struct sh_plot_frame *frame, double value)
{
    return frame->left + (frame->right - frame->left) * sh_ruler_get_share(&frame->x, value);
}

double sh_plot_frame_get_y(const struct sh_plot_frame *frame, double value)
{
    double height_px = frame->bottom_px - frame->top_px;
    return frame->bottom_px - height_px * sh_ruler_get_share(&frame->y, value);
}
