/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/terminal_view.h"

#include <math.h>
#include <stdlib.h>

#include "report/terminal_plot.h"
#include "signal/stats.h"

#define WHOLE_ROWS    10u
#define CLOSE_ROWS    10u
#define SMALL_ROWS    6u
#define CALM_S        0.02 /* so long before the release the scale stops to follow the curve */
#define EDGE_RATIO    0.15 /* what is left free below and above it */
#define FLAT_N        0.5  /* the least half range of a scale */
#define CONTACT_ROWS  3u
#define FLAT_CONTACT  0.4
#define FLAT_M_S2     0.5
#define TREND_FROM_S  1.05 /* the window of creep_rate, before c */
#define TREND_UNTIL_S 0.05
#define MARKS_MAX     (SH_EVENT_COUNT + 1)

/* Drawings of one shot. */
struct drawing {
    const struct sh_shot_record *record;
    struct sh_terminal_shot *shot;
    const struct sh_terminal_shot_config *config;
    struct sh_text *text;
    struct sh_terminal_mark marks[MARKS_MAX];
    size_t n_marks;
};

static const struct sh_quantity *get(const struct drawing *drawing, enum sh_measure measure)
{
    return sh_catalog_get(&drawing->record->measures, measure, 0);
}

static void set_marks(struct drawing *drawing)
{
    static const char *const found[SH_EVENT_COUNT] = {"D", "F", "C", "R", "L", "E"};
    static const char *const corrected[SH_EVENT_COUNT] = {"D*", "F*", "C*", "R*", "L*", "E*"};
    const struct sh_shot *shot = &drawing->record->shot;
    for (int i = 0; i < SH_EVENT_COUNT; i++) {
        if (sh_quantity_is_known(&shot->event_s[i])) {
            const char *label = shot->is_corrected[i] ? corrected[i] : found[i];
            drawing->marks[drawing->n_marks++] =
                (struct sh_terminal_mark){shot->event_s[i].value, label};
        }
    }
}

static struct sh_terminal_plot make_plot(const struct drawing *drawing,
                                         const double range_s[2],
                                         const char *name,
                                         size_t n_rows)
{
    struct sh_terminal_plot plot = sh_terminal_plot_default();
    plot.charset = drawing->config->charset;
    plot.n_columns = drawing->config->n_columns;
    plot.n_rows = n_rows;
    plot.y_name = name;
    plot.x_name = "s";
    plot.x_lo = range_s[0];
    plot.x_hi = range_s[1];
    plot.marks = drawing->marks;
    plot.n_marks = drawing->n_marks;
    return plot;
}

static struct sh_terminal_series make_series(const struct sh_terminal_curve *curve)
{
    return (struct sh_terminal_series){.x = curve->x, .y = curve->y, .n = curve->n};
}

static enum sh_status draw(const struct drawing *drawing, const struct sh_terminal_plot *plot)
{
    sh_text_puts(drawing->text, "\n");
    return sh_terminal_plot_draw(plot, drawing->text);
}

static enum sh_status draw_whole(const struct drawing *drawing)
{
    if (drawing->shot->force.n == 0) {
        return SH_OK;
    }
    const struct sh_terminal_series series = make_series(&drawing->shot->force);
    struct sh_terminal_plot plot =
        make_plot(drawing, drawing->shot->whole_s, "Force of the draw (N)", WHOLE_ROWS);
    plot.series = &series;
    plot.n_series = 1;
    return draw(drawing, &plot);
}

/* The scale of a drawing: what the curve shows before it is over. */
static bool find_scale(const struct drawing *drawing,
                       const struct sh_terminal_curve *curve,
                       double flat,
                       double range[2])
{
    const double until_s = drawing->shot->over_s - CALM_S;
    if (curve->n == 0 || !sh_terminal_curve_find_range(curve, curve->x[0], until_s, range)) {
        return false;
    }
    const double middle = 0.5 * (range[0] + range[1]);
    const double half = fmax(0.5 * (range[1] - range[0]), flat);
    range[0] = middle - (1.0 + EDGE_RATIO) * half;
    range[1] = middle + (1.0 + EDGE_RATIO) * half;
    return true;
}

static bool has_finding(const struct drawing *drawing, enum sh_code code)
{
    for (size_t i = 0; i < drawing->record->n_findings; i++) {
        if (drawing->record->findings[i].code == code) {
            return true;
        }
    }
    return false;
}

/* Where the finding rests on the whole hold: its force close up, with creep's mean. */
static enum sh_status draw_hold(const struct drawing *drawing)
{
    struct sh_terminal_shot *shot = drawing->shot;
    double range[2];
    const bool is_wanted =
        has_finding(drawing, SH_CODE_CREEP) || has_finding(drawing, SH_CODE_TREMOR_RISE);
    if (!is_wanted || !find_scale(drawing, &shot->hold_force, FLAT_N, range)) {
        return SH_OK;
    }
    sh_terminal_curve_cut(&shot->hold_force, shot->over_s - CALM_S, range);
    const struct sh_terminal_series series[2] = {make_series(&shot->hold_force),
                                                 {.x = shot->mean_x,
                                                  .y = shot->mean_y,
                                                  .n = shot->n_means,
                                                  .look = SH_TERMINAL_LETTERS,
                                                  .letter = '=',
                                                  .label = "mean"}};
    struct sh_terminal_plot plot = make_plot(
        drawing, shot->hold_s, "Force of the hold, with its mean over 0.5 s (N)", WHOLE_ROWS);
    plot.series = series;
    plot.n_series = 2;
    return draw(drawing, &plot);
}

static enum sh_status draw_fingers(const struct drawing *drawing)
{
    static const char *const names[3] = {"index", "middle", "ring"};
    struct sh_terminal_series series[3];
    size_t n = 0;
    for (size_t k = 0; k < 3; k++) {
        if (drawing->shot->finger[k].n > 0) {
            series[n] = make_series(&drawing->shot->finger[k]);
            series[n++].label = names[k];
        }
    }
    if (n == 0) {
        return SH_OK;
    }
    const double range_s[2] = {drawing->shot->whole_s[0], drawing->shot->over_s};
    struct sh_terminal_plot plot =
        make_plot(drawing, range_s, "Load of the fingers (N)", WHOLE_ROWS);
    plot.series = series;
    plot.n_series = n;
    return draw(drawing, &plot);
}

/*
 * The line of creep_rate (whose slope it is) before c: through the median of what its window
 * leaves over.
 */
static bool find_trend(const struct drawing *drawing, double x[2], double y[2])
{
    const struct sh_terminal_curve *curve = &drawing->shot->close_force;
    const struct sh_quantity *rate = get(drawing, SH_MEASURE_CREEP_RATE);
    const struct sh_shot *shot = &drawing->record->shot;
    const bool has_click = sh_quantity_is_known(&shot->event_s[SH_EVENT_CLICKER]);
    const double c_s =
        has_click ? shot->event_s[SH_EVENT_CLICKER].value : drawing->shot->over_s;
    double left_n[SH_TERMINAL_CURVE_POINTS];
    size_t n = 0;
    x[0] = c_s - TREND_FROM_S;
    x[1] = c_s - TREND_UNTIL_S;
    for (size_t i = 0; sh_quantity_is_known(rate) && i < curve->n; i++) {
        if (curve->x[i] >= x[0] && curve->x[i] <= x[1] && isfinite(curve->y[i])) {
            left_n[n++] = curve->y[i] - rate->value * (curve->x[i] - x[0]);
        }
    }
    if (n == 0) {
        return false;
    }
    y[0] = sh_stats_select_median(left_n, n);
    y[1] = y[0] + rate->value * (x[1] - x[0]);
    return true;
}

/* Where a flinch was found; the marks of this drawing alone. */
static size_t mark_dip(struct drawing *drawing)
{
    const struct sh_quantity *flinch_s = get(drawing, SH_MEASURE_FLINCH_TIME);
    size_t n = drawing->n_marks;
    if (has_finding(drawing, SH_CODE_FLINCH) && sh_quantity_is_known(flinch_s)) {
        drawing->marks[n++] = (struct sh_terminal_mark){flinch_s->value, "dip"};
    }
    return n;
}

/* What was given away between click and release: two levels. */
static size_t set_levels(const struct drawing *drawing, struct sh_terminal_level levels[2])
{
    const struct sh_quantity *collapse_n = get(drawing, SH_MEASURE_COLLAPSE);
    const struct sh_quantity *release_n = get(drawing, SH_MEASURE_RELEASE_FORCE);
    if (!has_finding(drawing, SH_CODE_COLLAPSE) || !sh_quantity_is_known(collapse_n) ||
        !sh_quantity_is_known(release_n)) {
        return 0;
    }
    levels[0] = (struct sh_terminal_level){release_n->value + collapse_n->value, "click"};
    levels[1] = (struct sh_terminal_level){release_n->value, "release"};
    return 2;
}

static enum sh_status draw_close(struct drawing *drawing)
{
    struct sh_terminal_curve *curve = &drawing->shot->close_force;
    double range[2];
    double trend_x[2];
    double trend_y[2];
    struct sh_terminal_level levels[2];
    if (!find_scale(drawing, curve, FLAT_N, range)) {
        return SH_OK;
    }
    const bool has_trend = find_trend(drawing, trend_x, trend_y);
    sh_terminal_curve_cut(curve, drawing->shot->over_s - CALM_S, range);
    const struct sh_terminal_series series[2] = {make_series(curve),
                                                 {.x = trend_x,
                                                  .y = trend_y,
                                                  .n = 2,
                                                  .look = SH_TERMINAL_LETTERS,
                                                  .letter = '=',
                                                  .label = "trend"}};
    struct sh_terminal_plot plot =
        make_plot(drawing, drawing->shot->close_s, "Force around the click (N)", CLOSE_ROWS);
    plot.y_lo = range[0];
    plot.y_hi = range[1];
    plot.series = series;
    plot.n_series = has_trend ? 2 : 1;
    plot.n_marks = mark_dip(drawing);
    plot.levels = levels;
    plot.n_levels = set_levels(drawing, levels);
    return draw(drawing, &plot);
}

/* A curve around the click on a low plot; flat: the least half range of its scale. */
static enum sh_status draw_small(const struct drawing *drawing,
                                 struct sh_terminal_curve *curve,
                                 const char *name,
                                 size_t n_rows,
                                 double flat)
{
    double range[2];
    if (!find_scale(drawing, curve, flat, range)) {
        return SH_OK;
    }
    sh_terminal_curve_cut(curve, drawing->shot->over_s - CALM_S, range);
    const struct sh_terminal_series series = make_series(curve);
    struct sh_terminal_plot plot = make_plot(drawing, drawing->shot->close_s, name, n_rows);
    plot.y_lo = range[0];
    plot.y_hi = range[1];
    plot.series = &series;
    plot.n_series = 1;
    return draw(drawing, &plot);
}

/* All that may show the clicker. */
static enum sh_status draw_clicker(const struct drawing *drawing)
{
    struct sh_terminal_shot *shot = drawing->shot;
    enum sh_status status =
        draw_small(drawing, &shot->close_acceleration,
                   "Acceleration of the bow around the click, less gravity (m/s\xC2\xB2)",
                   SMALL_ROWS, FLAT_M_S2);
    if (status == SH_OK) {
        status = draw_small(drawing, &shot->close_contact,
                            "Clicker's contact (1: the strip rests on the arrow)", CONTACT_ROWS,
                            FLAT_CONTACT);
    }
    return status == SH_OK ? draw_small(drawing, &shot->close_sound, "Sound around the click",
                                        SMALL_ROWS, 0.0)
                           : status;
}

enum sh_status sh_terminal_view_draw(const struct sh_shot_record *record,
                                     struct sh_terminal_shot *shot,
                                     const struct sh_terminal_shot_config *config,
                                     struct sh_text *text)
{
    struct drawing drawing = {.record = record, .shot = shot, .config = config, .text = text};
    set_marks(&drawing);
    enum sh_status status = draw_whole(&drawing);
    if (status == SH_OK) {
        status = draw_hold(&drawing);
    }
    if (status == SH_OK) {
        status = draw_close(&drawing);
    }
    if (status == SH_OK) {
        status = draw_clicker(&drawing);
    }
    return status == SH_OK ? draw_fingers(&drawing) : status;
}
