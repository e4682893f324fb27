/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_REPORT_TERMINAL_PLOT_H
#define SH_REPORT_TERMINAL_PLOT_H

#include <stddef.h>

#include "base/text.h"
#include "report/terminal_grid.h"

/*
 * A plot for a terminal: curves or points over two axes, with vertical marks that carry words
 * above the plot and levels that carry words at its right edge. What belongs to what is told
 * by place, line style and letters, never by colour. Any thread. Test:
 * tests/report/test_terminal_plot.c.
 *
 *     force (N)
 *              D          F          C R
 *     200 |
 *         |               ......................
 *     100 |          ...''           |
 *       0 |..........'               |          '....
 *         +---------+---------+---------+-----
 *         0         1         2         3  time (s)
 */

enum sh_terminal_look {
    SH_TERMINAL_LINE,
    SH_TERMINAL_DASHED,
    SH_TERMINAL_POINTS, /* a letter each, with a bar where bar is given */
    SH_TERMINAL_LETTERS /* a line of letters, which stands out from other curves */
};

/* Points of one curve. Where x or y is not finite, the line is broken. */
struct sh_terminal_series {
    const double *x;   /* [n] */
    const double *y;   /* [n] */
    const double *bar; /* [n] half the height of a bar at each point, or NULL */
    size_t n;
    enum sh_terminal_look look;
    char letter;       /* of POINTS and LETTERS; 0: 'o' */
    const char *label; /* stands at the right edge, where the curve ends; or NULL */
};

/* A vertical line at x and a word above it. */
struct sh_terminal_mark {
    double x;
    const char *label;
};

/* A horizontal line at y and a word at the right edge. */
struct sh_terminal_level {
    double y;
    const char *label; /* or NULL */
};

#define SH_TERMINAL_PLOT_COLUMNS_MIN 32u
#define SH_TERMINAL_PLOT_ROWS_MIN    3u
#define SH_TERMINAL_PLOT_MARKS_MAX   24u
#define SH_TERMINAL_PLOT_LABEL_MAX   12u /* columns of a label; more is cut off */

struct sh_terminal_plot {
    enum sh_terminal_charset charset;
    size_t n_columns;   /* of the whole plot, axes and labels in it */
    size_t n_rows;      /* of the area in which the curves lie */
    const char *y_name; /* "force (N)", above the plot */
    const char *x_name; /* "time (s)", below it at the right */
    double x_lo;        /* range of x; both NAN: as far as the series' finite points go */
    double x_hi;
    double
        y_lo; /* the scale of y reaches so far at the least; NAN: what lies within x decides */
    double y_hi;
    const struct sh_terminal_series *series; /* [n_series] */
    size_t n_series;
    const struct sh_terminal_mark *marks; /* [n_marks]; those outside x are left out */
    size_t n_marks;
    const struct sh_terminal_level *levels; /* [n_levels]; the scale holds them all */
    size_t n_levels;
};

/* 80 columns, 10 rows, braille, ranges NAN, nothing to draw. */
struct sh_terminal_plot sh_terminal_plot_default(void);

/*
 * Appends the plot, no line wider than n_columns. Words of marks that would touch stand on
 * lines above each other. A word of a level or a curve whose place is taken goes to the nearest
 * free row. Without any finite point the axes alone are drawn, from -1 to 1. SH_ERR_ARGUMENT:
 * too narrow or too low, over SH_TERMINAL_GRID_CELLS_MAX, over SH_TERMINAL_PLOT_MARKS_MAX
 * marks. SH_ERR_MEMORY; SH_ERR_FULL (text's limit). Cost: O(points x dots of a line at most).
 */
enum sh_status sh_terminal_plot_draw(const struct sh_terminal_plot *plot, struct sh_text *text);

#endif
