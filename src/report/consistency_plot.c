/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/consistency_plot.h"

#include <math.h>
#include <stdlib.h>

#include "report/terminal_plot.h"

#define COVER_95   1.96
#define SERIES     2u
#define LEVELS     3u
#define N_ROWS     14u
#define PER_SERIES 3u /* x, y and bar */

/* The free or the clocked holds, in values[PER_SERIES n]. */
static struct sh_terminal_series
pick(const struct sh_consistency_study *study, bool is_clocked, double *values)
{
    const struct sh_consistency *steady = &study->steady[SH_CONSISTENCY_HOLD];
    const size_t n = steady->column.n;
    double *x = values;
    double *y = x + n;
    double *bar = y + n;
    size_t n_points = 0;
    for (size_t i = 0; i < n; i++) {
        const struct sh_consistency_row *row = &study->set->rows[steady->column.row[i]];
        if (row->is_clocked == is_clocked) {
            x[n_points] = (double)(i + 1);
            y[n_points] = steady->column.x[i];
            bar[n_points++] = COVER_95 * row->value[SH_CONSISTENCY_HOLD].u;
        }
    }
    return (struct sh_terminal_series){.x = x,
                                       .y = y,
                                       .bar = bar,
                                       .n = n_points,
                                       .look = SH_TERMINAL_POINTS,
                                       .letter = is_clocked ? 'c' : 'o'};
}

enum sh_status sh_consistency_plot_draw(const struct sh_consistency_sheet *sheet,
                                        enum sh_terminal_charset charset,
                                        struct sh_text *text)
{
    const struct sh_consistency *steady = &sheet->study->steady[SH_CONSISTENCY_HOLD];
    const size_t n = steady->column.n;
    struct sh_terminal_level levels[LEVELS];
    if (n == 0) {
        return text->status;
    }
    double *values = calloc((size_t)SERIES * PER_SERIES * n, sizeof *values);
    if (values == NULL) {
        return SH_ERR_MEMORY;
    }
    const struct sh_terminal_series series[SERIES] = {
        pick(sheet->study, false, values),
        pick(sheet->study, true, values + (size_t)PER_SERIES * n),
    };
    struct sh_terminal_plot plot = sh_terminal_plot_default();
    plot.charset = charset;
    plot.n_rows = N_ROWS;
    plot.y_name = "hold (s)";
    plot.x_name = "arrow (o free, c under the clock)";
    plot.x_lo = 0.0;
    plot.x_hi = (double)(n + 1);
    plot.series = series;
    plot.n_series = SERIES;
    if (steady->has_chart) {
        levels[0] = (struct sh_terminal_level){exp(steady->chart.upper), "limit"};
        levels[1] = (struct sh_terminal_level){exp(steady->chart.centre), "centre"};
        levels[2] = (struct sh_terminal_level){exp(steady->chart.lower), "limit"};
        plot.levels = levels;
        plot.n_levels = LEVELS;
    }
    const enum sh_status status = sh_terminal_plot_draw(&plot, text);
    free(values);
    return status;
}
