/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/shot_rows.h"

#include <math.h>
#include <stdio.h>

#include "report/svg.h"

#define LONGEST_OF_MEAN 2.0
#define SPAN_EMPTY_S    5.0 /* where no draw has a length */
#define TICKS_MAX       8u
#define COVERAGE_95     1.96
#define TITLE_BYTES     96u
#define END_SHARE       0.997 /* a hair inside, so that the whole line is seen */

#define HEAD_PX    44.0
#define ROW_PX     34.0
#define BAR_TOP_PX 11.0
#define BAR_PX     20.0

/* Times before the end of one draw, s, NaN where unknown. */
struct marks {
    double draw_start_s;
    double full_draw_s;
    double full_draw_u_s;
    double clicker_s;
    bool has_end;
    bool is_let_down;
};

static double find_before(const struct sh_quantity *event, double end_s)
{
    return sh_quantity_is_known(event) ? event->value - end_s : (double)NAN;
}

static struct marks find_marks(const struct sh_shot_record *record)
{
    const struct sh_quantity *events = record->shot.event_s;
    const struct sh_quantity *release = &events[SH_EVENT_RELEASE];
    const struct sh_quantity *let_down = &events[SH_EVENT_LET_DOWN];
    struct marks marks = {.is_let_down = !sh_quantity_is_known(release)};
    const struct sh_quantity *end = marks.is_let_down ? let_down : release;
    marks.has_end = sh_quantity_is_known(end);
    double end_s = marks.has_end ? end->value : (double)NAN;
    marks.draw_start_s = find_before(&events[SH_EVENT_DRAW_START], end_s);
    marks.full_draw_s = find_before(&events[SH_EVENT_FULL_DRAW], end_s);
    marks.full_draw_u_s = events[SH_EVENT_FULL_DRAW].u;
    marks.clicker_s = find_before(&events[SH_EVENT_CLICKER], end_s);
    return marks;
}

/* Length of a draw, s; 0 where it has none. */
static double find_span(const struct sh_shot_record *record)
{
    struct marks marks = find_marks(record);
    double first_s = isfinite(marks.draw_start_s) ? marks.draw_start_s : marks.full_draw_s;
    return isfinite(first_s) ? fmax(-first_s, 0.0) : 0.0;
}

struct sh_ruler sh_shot_rows_fit(const struct sh_analysis *analysis)
{
    double longest_s = 0.0;
    double sum_s = 0.0;
    size_t n_spans = 0;
    for (size_t i = 0; i < analysis->n_shots; i++) {
        double span_s = find_span(&analysis->shots[i]);
        longest_s = fmax(longest_s, span_s);
        sum_s += span_s;
        n_spans += span_s > 0.0 ? 1 : 0;
    }
    longest_s =
        n_spans > 0 ? fmin(longest_s, LONGEST_OF_MEAN * sum_s / (double)n_spans) : SPAN_EMPTY_S;
    return sh_ruler_fit(-longest_s, 0.0, TICKS_MAX);
}

void sh_shot_rows_draw_head(struct sh_text *text, const struct sh_ruler *axis)
{
    sh_svg_open(text, HEAD_PX, "Time before the release in seconds, common to all rows");
    for (size_t i = 0; i < axis->n_ticks; i++) {
        char tick[SH_RULER_TICK_BYTES];
        double x = sh_ruler_get_share(axis, sh_ruler_get_tick(axis, i));
        enum sh_svg_anchor anchor = i == 0                  ? SH_SVG_START
                                    : i + 1 < axis->n_ticks ? SH_SVG_MIDDLE
                                                            : SH_SVG_END;
        sh_ruler_format_tick(axis, i, tick);
        sh_svg_label(text, "tick", (const double[]){x, 30.0}, anchor, tick);
        sh_svg_line(text, "axis", (const double[]){x, 35.0}, (const double[]){x, HEAD_PX});
    }
    sh_svg_line(text, "axis", (const double[]){0.0, HEAD_PX}, (const double[]){1.0, HEAD_PX});
    sh_svg_label(text, "name", (const double[]){1.0, 12.0}, SH_SVG_END,
                 "time before the release (s)");
    sh_svg_close(text);
}

/* A phase from one time to another as a box with its name in it, where both are known. */
static void draw_phase(struct sh_text *text,
                       const struct sh_ruler *axis,
                       const double span_s[2],
                       const char *look,
                       const char *name)
{
    if (!isfinite(span_s[0]) || !isfinite(span_s[1]) || span_s[1] <= axis->lo) {
        return;
    }
    double from = sh_ruler_get_share(axis, fmax(span_s[0], axis->lo));
    double until = sh_ruler_get_share(axis, span_s[1]);
    const double corner[2] = {from, BAR_TOP_PX};
    const double size[2] = {fmax(until - from, 0.0), BAR_PX};
    sh_svg_box(text, look, corner, size);
    sh_svg_label_inside(text, "phase", corner, size, name);
}

/* A bracket over the bar: the 95 % interval of full draw. */
static void
draw_doubt(struct sh_text *text, const struct sh_ruler *axis, const struct marks *marks)
{
    double half_s = COVERAGE_95 * marks->full_draw_u_s;
    if (!isfinite(marks->full_draw_s) || marks->full_draw_s - half_s < axis->lo) {
        return;
    }
    double from = sh_ruler_get_share(axis, marks->full_draw_s - half_s);
    double until = sh_ruler_get_share(axis, fmin(marks->full_draw_s + half_s, axis->hi));
    sh_svg_line(text, "doubt", (const double[]){from, BAR_TOP_PX - 3.0},
                (const double[]){until, BAR_TOP_PX - 3.0});
}

static void
draw_click(struct sh_text *text, const struct sh_ruler *axis, const struct marks *marks)
{
    if (!isfinite(marks->clicker_s) || marks->clicker_s < axis->lo) {
        return;
    }
    double x = sh_ruler_get_share(axis, marks->clicker_s);
    sh_svg_line(text, "click", (const double[]){x, BAR_TOP_PX},
                (const double[]){x, BAR_TOP_PX + BAR_PX});
    sh_svg_marker(text, "mark", SH_SVG_TRIANGLE, (const double[]){x, BAR_TOP_PX});
}

static void draw_end(struct sh_text *text, const struct marks *marks)
{
    double middle_px = BAR_TOP_PX + BAR_PX / 2.0;
    if (marks->is_let_down) {
        sh_svg_marker(text, "mark", SH_SVG_DIAMOND, (const double[]){END_SHARE, middle_px});
    } else {
        sh_svg_line(text, "release", (const double[]){END_SHARE, BAR_TOP_PX - 4.0},
                    (const double[]){END_SHARE, BAR_TOP_PX + BAR_PX + 3.0});
    }
}

/* What a screen reader says of a row. */
static void format_title(const struct sh_shot_record *record,
                         const struct marks *marks,
                         char title[TITLE_BYTES])
{
    double hold_s = -marks->full_draw_s;
    if (!marks->has_end) {
        (void)snprintf(title, TITLE_BYTES, "Draw %u: no release or let-down was found",
                       record->shot.n);
    } else if (isfinite(hold_s)) {
        (void)snprintf(title, TITLE_BYTES, "Draw %u: held for %.2f s before the %s",
                       record->shot.n, hold_s, marks->is_let_down ? "let-down" : "release");
    } else {
        (void)snprintf(title, TITLE_BYTES, "Draw %u: its hold is unknown", record->shot.n);
    }
}

void sh_shot_rows_draw(struct sh_text *text,
                       const struct sh_ruler *axis,
                       const struct sh_shot_record *record)
{
    char title[TITLE_BYTES];
    struct marks marks = find_marks(record);
    double first_s = isfinite(marks.draw_start_s) ? marks.draw_start_s : marks.full_draw_s;
    format_title(record, &marks, title);
    sh_svg_open(text, ROW_PX, title);
    if (!marks.has_end) {
        sh_svg_label(text, "tick", (const double[]){0.0, BAR_TOP_PX + BAR_PX / 2.0},
                     SH_SVG_START, "no release or let-down was found");
    } else {
        draw_phase(text, axis, (const double[]){marks.draw_start_s, marks.full_draw_s}, "draw",
                   "draw");
        draw_phase(text, axis, (const double[]){marks.full_draw_s, 0.0}, "hold", "hold");
        draw_doubt(text, axis, &marks);
        draw_click(text, axis, &marks);
        draw_end(text, &marks);
    }
    if (isfinite(first_s) && first_s < axis->lo) {
        char label[64];
        (void)snprintf(label, sizeof label, "began %.1f s before the end", -first_s);
        sh_svg_label(text, "tick", (const double[]){0.0, BAR_TOP_PX - 2.0}, SH_SVG_START,
                     label);
    }
    sh_svg_close(text);
}
