/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/terminal_plot.h"

#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>

#include "report/paragraph.h"
#include "report/terminal_axis.h"
#include "report/utf8.h"

struct sh_terminal_plot sh_terminal_plot_default(void)
{
    return (struct sh_terminal_plot){.charset = SH_TERMINAL_BRAILLE,
                                     .n_columns = 80,
                                     .n_rows = 10,
                                     .y_name = "",
                                     .x_name = "",
                                     .x_lo = (double)NAN,
                                     .x_hi = (double)NAN,
                                     .y_lo = (double)NAN,
                                     .y_hi = (double)NAN};
}

/* Widens range to hold value, where that is finite. */
static void hold(double range[2], double value)
{
    if (isfinite(value)) {
        range[0] = isfinite(range[0]) ? fmin(range[0], value) : value;
        range[1] = isfinite(range[1]) ? fmax(range[1], value) : value;
    }
}

/* Of empty ranges and single values: one around them. */
static void open_range(double range[2])
{
    if (!isfinite(range[0]) || !isfinite(range[1])) {
        range[0] = -1.0;
        range[1] = 1.0;
    } else if (!(range[1] > range[0])) {
        range[0] -= 1.0;
        range[1] += 1.0;
    }
}

static void find_x_range(const struct sh_terminal_plot *plot, double range[2])
{
    range[0] = plot->x_lo;
    range[1] = plot->x_hi;
    if (isfinite(range[0]) && isfinite(range[1])) {
        open_range(range);
        return;
    }
    for (size_t k = 0; k < plot->n_series; k++) {
        const struct sh_terminal_series *series = &plot->series[k];
        for (size_t i = 0; i < series->n; i++) {
            hold(range, isfinite(series->y[i]) ? series->x[i] : (double)NAN);
        }
    }
    open_range(range);
}

static void
hold_series(const struct sh_terminal_series *series, const double x[2], double range[2])
{
    for (size_t i = 0; i < series->n; i++) {
        if (series->x[i] >= x[0] && series->x[i] <= x[1]) {
            double bar = series->bar != NULL && isfinite(series->bar[i]) ? series->bar[i] : 0.0;
            hold(range, series->y[i] - bar);
            hold(range, series->y[i] + bar);
        }
    }
}

static void
find_y_range(const struct sh_terminal_plot *plot, const double x[2], double range[2])
{
    range[0] = plot->y_lo;
    range[1] = plot->y_hi;
    for (size_t k = 0; k < plot->n_series; k++) {
        hold_series(&plot->series[k], x, range);
    }
    for (size_t k = 0; k < plot->n_levels; k++) {
        hold(range, plot->levels[k].y);
    }
    open_range(range);
}

/* A value's place in dots, from the left or from the top. */
static double place_x(const struct sh_terminal_axis *axis, double x)
{
    double share = (x - axis->x[0]) / (axis->x[1] - axis->x[0]);
    return share * (double)(axis->grid.n_dots_x - 1);
}

static double place_y(const struct sh_terminal_axis *axis, double y)
{
    double share = (axis->y[1] - y) / (axis->y[1] - axis->y[0]);
    return share * (double)(axis->grid.n_dots_y - 1);
}

static void draw_bar(struct sh_terminal_axis *axis, double x, double y, double bar)
{
    if (isfinite(bar)) {
        const double from[2] = {place_x(axis, x), place_y(axis, y - bar)};
        const double to[2] = {from[0], place_y(axis, y + bar)};
        sh_terminal_grid_put_line(&axis->grid, from, to, false);
    }
}

static char get_letter(const struct sh_terminal_series *series)
{
    return (char)(series->letter != 0 ? series->letter : 'o');
}

static void draw_series(struct sh_terminal_axis *axis, const struct sh_terminal_series *series)
{
    double last[2] = {0.0, 0.0};
    bool has_last = false;
    for (size_t i = 0; i < series->n; i++) {
        const double at[2] = {place_x(axis, series->x[i]), place_y(axis, series->y[i])};
        bool is_there = isfinite(at[0]) && isfinite(at[1]);
        if (is_there && series->bar != NULL) {
            draw_bar(axis, series->x[i], series->y[i], series->bar[i]);
        }
        if (is_there && series->look == SH_TERMINAL_POINTS) {
            sh_terminal_grid_put_letter(&axis->grid, at, get_letter(series));
        } else if (is_there && series->look == SH_TERMINAL_LETTERS) {
            sh_terminal_grid_put_letters(&axis->grid, has_last ? last : at, at,
                                         get_letter(series));
        } else if (is_there) {
            sh_terminal_grid_put_line(&axis->grid, has_last ? last : at, at,
                                      series->look == SH_TERMINAL_DASHED);
        }
        memcpy(last, at, sizeof last);
        has_last = is_there;
    }
}

/* The row on which a curve leaves the plot; the number of rows where it never is inside. */
static size_t find_last_row(const struct sh_terminal_axis *axis,
                            const struct sh_terminal_series *series)
{
    for (size_t i = series->n; i-- > 0;) {
        if (isfinite(series->y[i]) && series->x[i] >= axis->x[0] &&
            series->x[i] <= axis->x[1]) {
            return sh_terminal_axis_get_row(axis, place_y(axis, series->y[i]));
        }
    }
    return axis->grid.n_rows;
}

static void draw_all(const struct sh_terminal_plot *plot, struct sh_terminal_axis *axis)
{
    for (size_t k = 0; k < plot->n_marks; k++) {
        const struct sh_terminal_mark *mark = &plot->marks[k];
        if (mark->x >= axis->x[0] && mark->x <= axis->x[1]) {
            sh_terminal_axis_put_mark(axis, place_x(axis, mark->x), mark->label);
        }
    }
    for (size_t k = 0; k < plot->n_levels; k++) {
        const struct sh_terminal_level *level = &plot->levels[k];
        size_t row = sh_terminal_axis_get_row(axis, place_y(axis, level->y));
        sh_terminal_grid_rule_row(&axis->grid, row);
        sh_terminal_axis_put_label(axis, row, level->label);
    }
    for (size_t k = 0; k < plot->n_series; k++) {
        draw_series(axis, &plot->series[k]);
        sh_terminal_axis_put_label(axis, find_last_row(axis, &plot->series[k]),
                                   plot->series[k].label);
    }
}

static size_t measure_label(const char *label)
{
    size_t n = label != NULL ? sh_utf8_get_columns(label, strlen(label)) : 0;
    return n < SH_TERMINAL_PLOT_LABEL_MAX ? n : SH_TERMINAL_PLOT_LABEL_MAX;
}

/* Columns right of the plot that its words need, with a blank before them. */
static size_t measure_right(const struct sh_terminal_plot *plot)
{
    size_t n_columns = 0;
    for (size_t k = 0; k < plot->n_series + plot->n_levels; k++) {
        size_t n = measure_label(k < plot->n_series ? plot->series[k].label
                                                    : plot->levels[k - plot->n_series].label);
        n_columns = n > n_columns ? n : n_columns;
    }
    return n_columns > 0 ? n_columns + 1 : 0;
}

enum sh_status sh_terminal_plot_draw(const struct sh_terminal_plot *plot, struct sh_text *text)
{
    struct sh_terminal_axis axis = {.n_right = measure_right(plot), .x_name = plot->x_name};
    if (plot->n_columns < SH_TERMINAL_PLOT_COLUMNS_MIN ||
        plot->n_rows < SH_TERMINAL_PLOT_ROWS_MIN ||
        plot->n_marks > SH_TERMINAL_PLOT_MARKS_MAX) {
        return SH_ERR_ARGUMENT;
    }
    find_x_range(plot, axis.x);
    find_y_range(plot, axis.x, axis.y);
    enum sh_status status =
        sh_terminal_axis_open(&axis, plot->charset, plot->n_columns, plot->n_rows);
    if (status == SH_OK) {
        struct sh_paragraph name;
        draw_all(plot, &axis);
        sh_paragraph_init(&name, text, plot->n_columns, "", 0);
        sh_paragraph_put(&name, plot->y_name);
        sh_paragraph_end(&name);
        sh_terminal_axis_write(&axis, text);
        status = text->status;
    }
    sh_terminal_axis_close(&axis);
    return status;
}
