/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/click_plot.h"

#include <math.h>
#include <stdlib.h>

#include "report/curve_set.h"
#include "report/svg.h"

#define BEFORE_S    1.0
#define AFTER_S     0.3
#define AREA_PX     260.0
#define TICKS_X_MAX 8u
#define TICKS_Y_MAX 8u
#define LEAST_N     2.0 /* the scale of force reaches so far from 0 at the least */
#define MOST_N      15.0
#define SETTLED_S   0.1  /* after full draw the scale begins to follow the curve */
#define CALM_S      0.02 /* so long before the release the scale stops to follow the curve */

static bool stands_out(const struct sh_shot_record *record)
{
    for (size_t i = 0; i < record->n_findings; i++) {
        enum sh_code code = record->findings[i].code;
        if (code == SH_CODE_CREEP || code == SH_CODE_FLINCH || code == SH_CODE_COLLAPSE) {
            return true;
        }
    }
    return false;
}

/* Whether any shot can be laid at its click. */
static bool has_click(const struct sh_analysis *analysis, const struct sh_trace *traces)
{
    for (size_t i = 0; i < analysis->n_shots; i++) {
        if (traces[i].n_close > 0 &&
            sh_quantity_is_known(&traces[i].event_s[SH_EVENT_CLICKER])) {
            return true;
        }
    }
    return false;
}

/* The shot's curve; false where it has none that can be laid there. */
static bool make_curve(const struct sh_shot_record *record,
                       const struct sh_trace *trace,
                       bool by_click,
                       struct sh_curve *curve)
{
    const struct sh_quantity *force =
        sh_catalog_get(&record->measures, SH_MEASURE_HOLD_FORCE, 0);
    const struct sh_quantity *at =
        &trace->event_s[by_click ? SH_EVENT_CLICKER : SH_EVENT_RELEASE];
    if (trace->n_close == 0 || !sh_quantity_is_known(force) || !sh_quantity_is_known(at)) {
        return false;
    }
    curve->number = record->shot.n;
    curve->is_marked = stands_out(record);
    curve->n = 0;
    for (size_t i = 0; i < trace->n_close && curve->n < SH_CURVE_SET_POINTS_MAX; i++) {
        curve->x[curve->n] = trace->close_s[i] - at->value;
        curve->y[curve->n++] = trace->close_n[i] - force->value;
    }
    return true;
}

/* How far the forces reach below and above 0, N. */
struct reach {
    double low_n;
    double high_n;
};

/* Widens the reach by what one shot shows from full draw on; the drop itself is cut off. */
static void widen_reach(struct reach *reach, const struct sh_trace *trace, double hold_force_n)
{
    const struct sh_quantity *full = &trace->event_s[SH_EVENT_FULL_DRAW];
    double from_s = -BEFORE_S;
    if (sh_quantity_is_known(full)) {
        from_s = fmax(from_s, full->value + SETTLED_S);
    }
    for (size_t k = 0; k < trace->n_close; k++) {
        if (trace->close_s[k] > from_s && trace->close_s[k] < -CALM_S) {
            double away_n = trace->close_n[k] - hold_force_n;
            reach->low_n = fmin(reach->low_n, away_n);
            reach->high_n = fmax(reach->high_n, away_n);
        }
    }
}

static struct reach find_reach(const struct sh_analysis *analysis,
                               const struct sh_trace *traces)
{
    struct reach reach = {-LEAST_N, LEAST_N};
    for (size_t i = 0; i < analysis->n_shots; i++) {
        const struct sh_quantity *force =
            sh_catalog_get(&analysis->shots[i].measures, SH_MEASURE_HOLD_FORCE, 0);
        if (sh_quantity_is_known(force)) {
            widen_reach(&reach, &traces[i], force->value);
        }
    }
    return (struct reach){fmax(reach.low_n, -MOST_N), fmin(reach.high_n, MOST_N)};
}

static void draw_ground(struct sh_text *text, const struct sh_plot_frame *frame, bool by_click)
{
    double x = sh_plot_frame_get_x(frame, 0.0);
    const double at[2] = {x - 0.006, frame->bottom_px - 6.0}; /* where few curves are */
    sh_plot_frame_draw(text, frame);
    sh_svg_line(text, "click", (const double[]){x, frame->top_px},
                (const double[]){x, frame->bottom_px});
    sh_svg_label(text, "name", at, SH_SVG_END, by_click ? "click" : "release");
}

void sh_click_plot_draw(struct sh_text *text,
                        const struct sh_analysis *analysis,
                        const struct sh_trace *traces,
                        bool *is_by_release)
{
    bool by_click = has_click(analysis, traces);
    struct sh_curve *curves = calloc(analysis->n_shots + 1, sizeof *curves);
    double *scratch = calloc(analysis->n_shots + 1, sizeof *scratch);
    size_t n = 0;
    *is_by_release = !by_click;
    if (curves == NULL || scratch == NULL) {
        text->status = text->status == SH_OK ? SH_ERR_MEMORY : text->status;
        goto out;
    }
    for (size_t i = 0; i < analysis->n_shots; i++) {
        n += make_curve(&analysis->shots[i], &traces[i], by_click, &curves[n]) ? 1 : 0;
    }
    if (n == 0) {
        goto out;
    }
    struct reach reach = find_reach(analysis, traces);
    struct sh_ruler x = sh_ruler_fit(-BEFORE_S, AFTER_S, TICKS_X_MAX);
    struct sh_ruler y = sh_ruler_fit(reach.low_n, reach.high_n, TICKS_Y_MAX);
    struct sh_plot_frame frame = sh_plot_frame_make(&x, &y, AREA_PX);
    frame.has_x_ticks = true;
    frame.x_name = by_click ? "time from the click (s)" : "time from the release (s)";
    frame.y_name = "force less the shot's hold force (N)";
    sh_svg_open(text, sh_plot_frame_get_height(&frame),
                "Force around the click of all shots, laid over each other");
    draw_ground(text, &frame, by_click);
    sh_curve_set_draw(text, &frame, curves, n, scratch);
    sh_svg_close(text);
out:
    free(curves);
    free(scratch);
}
