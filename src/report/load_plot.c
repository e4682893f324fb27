/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/load_plot.h"

#include <math.h>
#include <stdio.h>

#include "base/day.h"
#include "report/svg.h"

#define HEIGHT_PX  230.0
#define TOP_PX     18.0
#define BOTTOM_PX  196.0
#define LEFT       0.16 /* share of the width: room for the axis */
#define RIGHT      1.0
#define BAR_RATIO  0.7 /* of a day's width */
#define BAR_MAX    0.08
#define TICKS      4
#define DATES_MAX  3
#define LABEL_DX   0.02
#define DATE_DY_PX 18.0

/* The drawing's scales. */
struct plot {
    const struct sh_load_sheet *sheet;
    struct sh_text *text;
    double top_n_s; /* at TOP_PX */
    double step_n_s;
    size_t n_days;
};

static double get_known_n_s(const struct sh_day_load *load)
{
    return load->impulse_n_s[0].value + load->impulse_n_s[1].value + load->impulse_n_s[2].value;
}

/* 1, 2 or 5 times a power of ten, a quarter of the largest or a bit more. */
static double find_step(double largest)
{
    const double least = largest / TICKS;
    const double decade = pow(10.0, floor(log10(least)));
    const double steps[] = {1.0, 2.0, 5.0, 10.0};
    size_t i = 0;
    while (i < 3 && steps[i] * decade < least) {
        i++;
    }
    return steps[i] * decade;
}

static double get_x(const struct plot *plot, double day)
{
    return LEFT + (RIGHT - LEFT) * day / (double)plot->n_days;
}

static double get_y(const struct plot *plot, double impulse_n_s)
{
    return BOTTOM_PX - (BOTTOM_PX - TOP_PX) * impulse_n_s / plot->top_n_s;
}

static void draw_axis(const struct plot *plot)
{
    for (int i = 0; i <= TICKS; i++) {
        const double impulse_n_s = (double)i * plot->step_n_s;
        const double y = get_y(plot, impulse_n_s);
        const double from[2] = {LEFT, y};
        const double to[2] = {RIGHT, y};
        const double at[2] = {LEFT - LABEL_DX, y + 4.0};
        char label[32];
        (void)snprintf(label, sizeof label, "%.10g N s", impulse_n_s);
        sh_svg_line(plot->text, i == 0 ? "axis" : "grid", from, to);
        sh_svg_label(plot->text, "tick", at, SH_SVG_END, label);
    }
}

static void draw_bar(const struct plot *plot, const struct sh_load_history_row *row)
{
    static const char *const looks[] = {"draw", "hold", "filled"};
    const double day = (double)(row->day - plot->sheet->first_day);
    const double width = fmin(BAR_MAX, BAR_RATIO * (RIGHT - LEFT) / (double)plot->n_days);
    const double left = get_x(plot, day + 0.5) - width / 2.0;
    double base_n_s = 0.0;
    for (size_t i = 0; i < SH_DAY_LOAD_FINGERS; i++) {
        const double height_n_s = fmax(0.0, row->load->impulse_n_s[i].value);
        const double corner[2] = {left, get_y(plot, base_n_s + height_n_s)};
        const double size[2] = {width, get_y(plot, base_n_s) - corner[1]};
        if (height_n_s > 0.0) {
            sh_svg_box(plot->text, looks[i], corner, size);
        }
        base_n_s += height_n_s;
    }
    const struct sh_quantity all = sh_day_load_get_impulse_n_s(row->load, SH_DAY_LOAD_FINGERS);
    const double at[2] = {left + width / 2.0, get_y(plot, base_n_s) - 4.0};
    if (!sh_quantity_is_known(&all)) {
        sh_svg_label(plot->text, "name", at, SH_SVG_MIDDLE, "?");
    } else if (sh_day_load_get_kind(row->load) == SH_DAY_LOAD_REST) {
        sh_svg_label(plot->text, "name", at, SH_SVG_MIDDLE, "\xE2\x80\x93");
    }
}

/* A few dates, evenly over the days. */
static void draw_dates(const struct plot *plot)
{
    const size_t n = plot->n_days < DATES_MAX ? plot->n_days : DATES_MAX;
    for (size_t i = 0; i < n; i++) {
        const int day = plot->sheet->first_day + (int)(i * plot->n_days / n);
        const double x = get_x(plot, (double)(day - plot->sheet->first_day));
        const double at[2] = {x, BOTTOM_PX + DATE_DY_PX};
        const double from[2] = {x, BOTTOM_PX};
        const double to[2] = {x, BOTTOM_PX + 5.0};
        char date[SH_DAY_BYTES];
        sh_day_format(day, date);
        sh_svg_line(plot->text, "axis", from, to);
        sh_svg_label(plot->text, "tick", at, SH_SVG_START, date);
    }
}

void sh_load_plot_draw(struct sh_text *text, const struct sh_load_sheet *sheet)
{
    double largest_n_s = 0.0;
    for (int day = sheet->first_day; day <= sheet->last_day; day++) {
        const struct sh_load_history_row *row = sh_load_sheet_find(sheet, day);
        largest_n_s = row != NULL ? fmax(largest_n_s, get_known_n_s(row->load)) : largest_n_s;
    }
    if (!(largest_n_s > 0.0)) {
        return;
    }
    struct plot plot = {.sheet = sheet,
                        .text = text,
                        .step_n_s = find_step(largest_n_s),
                        .n_days = (size_t)(sheet->last_day - sheet->first_day) + 1};
    plot.top_n_s = (double)TICKS * plot.step_n_s;
    sh_svg_open(text, HEIGHT_PX, "Impulse of the fingers by day");
    draw_axis(&plot);
    for (int day = sheet->first_day; day <= sheet->last_day; day++) {
        const struct sh_load_history_row *row = sh_load_sheet_find(sheet, day);
        if (row != NULL) {
            draw_bar(&plot, row);
        }
    }
    draw_dates(&plot);
    sh_svg_close(text);
}
