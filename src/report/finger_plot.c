/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/finger_plot.h"

#include <math.h>
#include <stdbool.h>
#include <stdio.h>

#include "report/plot_frame.h"
#include "report/svg.h"

#define AREA_PX     96.0
#define TICKS_MAX   4u
#define NUMBERS_MAX 10u /* labels along x */
#define NUMBER_PX   15.0
#define PER_CENT    100.0
#define RING        2u
#define GAP_PART    0.12 /* of the room between two draws: where the change begins */
#define CHANGE_PART 0.5  /* and where it ends */
#define MARK_PX     6.0

/* The upper end of a share, per cent; 0 where it is not known. */
static double find_high(const struct sh_quantity *share)
{
    double low = 0.0;
    double high = 0.0;
    if (!sh_quantity_is_known(share)) {
        return 0.0;
    }
    sh_quantity_interval(share, &low, &high);
    return PER_CENT * high;
}

/* Largest share that is drawn, per cent; 0 where none is known. */
static double find_top(const struct sh_analysis *analysis)
{
    double top = 0.0;
    for (size_t i = 0; i < analysis->n_shots; i++) {
        for (size_t k = 0; k <= RING; k++) {
            top = fmax(top, find_high(sh_catalog_get(&analysis->shots[i].measures,
                                                     SH_MEASURE_FINGER_SHARE, k)));
        }
    }
    return top;
}

static double find_room(const struct sh_analysis *analysis)
{
    return 1.0 / ((double)analysis->n_shots + 0.5);
}

static double find_x(const struct sh_analysis *analysis, size_t i)
{
    return ((double)i + 0.75) * find_room(analysis);
}

/* A share on the scale, kept inside it. */
static double find_y(const struct sh_plot_frame *frame, double share)
{
    return sh_plot_frame_get_y(frame, fmin(fmax(PER_CENT * share, frame->y.lo), frame->y.hi));
}

static bool has_slid(const struct sh_shot_record *record)
{
    for (size_t i = 0; i < record->n_findings; i++) {
        if (record->findings[i].code == SH_CODE_FINGER_SLIDE) {
            return true;
        }
    }
    return false;
}

/* When the ring finger began to slide, above the share's mark. */
static void
draw_slide(struct sh_text *text, const struct sh_shot_record *record, double x, double mark_px)
{
    const struct sh_quantity *slide =
        sh_catalog_get(&record->measures, SH_MEASURE_FINGER_SLIDE, 0);
    const struct sh_quantity *release = &record->shot.event_s[SH_EVENT_RELEASE];
    char label[32] = "slid";
    if (sh_quantity_is_known(slide) && sh_quantity_is_known(release)) {
        (void)snprintf(label, sizeof label, "-%.1f s", release->value - slide->value);
    }
    sh_svg_label(text, "tick", (const double[]){x, mark_px - MARK_PX - 4.0}, SH_SVG_MIDDLE,
                 label);
}

static void draw_one(struct sh_text *text,
                     const struct sh_plot_frame *frame,
                     const struct sh_analysis *analysis,
                     size_t i,
                     size_t k)
{
    const struct sh_shot_record *record = &analysis->shots[i];
    const struct sh_quantity *share =
        sh_catalog_get(&record->measures, SH_MEASURE_FINGER_SHARE, k);
    const struct sh_quantity *change =
        sh_catalog_get(&record->measures, SH_MEASURE_FINGER_SHARE_CHANGE, k);
    const double x = find_x(analysis, i);
    double low = 0.0;
    double high = 0.0;
    if (!sh_quantity_is_known(share)) {
        return;
    }
    sh_quantity_interval(share, &low, &high);
    const double mark_px = find_y(frame, share->value);
    sh_svg_line(text, "doubt", (const double[]){x, find_y(frame, low)},
                (const double[]){x, find_y(frame, high)});
    if (sh_quantity_is_known(change)) {
        const double room = find_room(analysis);
        const double half = 0.5 * change->value;
        sh_svg_line(
            text, "doubt",
            (const double[]){x + GAP_PART * room, find_y(frame, share->value - half)},
            (const double[]){x + CHANGE_PART * room, find_y(frame, share->value + half)});
    }
    sh_svg_marker(text, "mark", SH_SVG_DISC, (const double[]){x, mark_px});
    if (k == RING && has_slid(record)) {
        const double fall = sh_quantity_is_known(change) ? fabs(change->value) : 0.0;
        draw_slide(text, record, x, find_y(frame, fmax(high, share->value + 0.5 * fall)));
    }
}

/* Numbers of the draws below the plot, as many as there is room for. */
static void draw_numbers(struct sh_text *text,
                         const struct sh_plot_frame *frame,
                         const struct sh_analysis *analysis)
{
    const size_t every = (analysis->n_shots + NUMBERS_MAX - 1) / NUMBERS_MAX;
    for (size_t i = 0; i < analysis->n_shots; i += every) {
        char number[16];
        (void)snprintf(number, sizeof number, "%u", analysis->shots[i].shot.n);
        sh_svg_label(text, "tick",
                     (const double[]){find_x(analysis, i), frame->bottom_px + NUMBER_PX},
                     SH_SVG_MIDDLE, number);
    }
}

void sh_finger_plot_draw(struct sh_text *text, const struct sh_analysis *analysis)
{
    static const char *const names[] = {"index finger: share of the load (%)",
                                        "middle finger: share of the load (%)",
                                        "ring finger: share of the load (%)"};
    const double top = find_top(analysis);
    if (!(top > 0.0)) {
        return;
    }
    const struct sh_ruler x = sh_ruler_fit(0.0, 1.0, 3);
    const struct sh_ruler y = sh_ruler_fit(0.0, fmin(top, PER_CENT), TICKS_MAX);
    for (size_t k = 0; k <= RING; k++) {
        struct sh_plot_frame frame = sh_plot_frame_make(&x, &y, AREA_PX);
        frame.has_x_ticks = false;
        frame.x_name = "draw";
        frame.y_name = names[k];
        sh_svg_open(text, sh_plot_frame_get_height(&frame), names[k]);
        sh_plot_frame_draw(text, &frame);
        for (size_t i = 0; i < analysis->n_shots; i++) {
            draw_one(text, &frame, analysis, i, k);
        }
        draw_numbers(text, &frame, analysis);
        sh_svg_close(text);
    }
}
