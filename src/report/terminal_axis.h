/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_REPORT_TERMINAL_AXIS_H
#define SH_REPORT_TERMINAL_AXIS_H

#include <stddef.h>

#include "base/text.h"
#include "report/ruler.h"
#include "report/terminal_grid.h"

/*
 * What stands around the grid of a terminal's plot: the scales on the left and below, words
 * above it at vertical marks, words at its right edge. Used by terminal_plot.c alone, whose
 * test tests this too (tests/report/test_terminal_plot.c). One thread at a time per object.
 */

#define SH_TERMINAL_AXIS_WORDS_MAX 24u

/* A word above the plot: its first column in the grid, and how far up it stands. */
struct sh_terminal_word {
    const char *text; /* kept */
    size_t column;
    size_t n_columns;
    size_t height; /* 0: right above the plot */
};

struct sh_terminal_axis {
    struct sh_terminal_grid grid; /* owned */
    double x[2];                  /* values at the left and the right edge */
    double y[2];                  /* values at the lower and the upper edge */
    struct sh_ruler y_ticks;      /* set by open */
    const char *x_name;           /* kept */
    size_t n_left;                /* columns left of the grid: the ticks' texts and the axis */
    size_t n_right;               /* columns right of it, a blank first; 0: no words there */
    const char **labels;          /* [rows of the grid] words at the right edge, owned */
    struct sh_terminal_word words[SH_TERMINAL_AXIS_WORDS_MAX];
    size_t n_words;
};

/*
 * Opens the grid of n_rows in what n_columns leave beside the scale of y and n_right; x, y,
 * x_name and n_right must be set. SH_ERR_ARGUMENT: no column is left. SH_ERR_MEMORY.
 */
enum sh_status sh_terminal_axis_open(struct sh_terminal_axis *axis,
                                     enum sh_terminal_charset charset,
                                     size_t n_columns,
                                     size_t n_rows);

/* Frees what it owns. Takes one that did not open. */
void sh_terminal_axis_close(struct sh_terminal_axis *axis);

/* The row of cells in which a place in dots from the top lies; the number of rows outside. */
size_t sh_terminal_axis_get_row(const struct sh_terminal_axis *axis, double dots);

/* A vertical rule at a place in dots from the left, which lies inside, and its word (kept). */
void sh_terminal_axis_put_mark(struct sh_terminal_axis *axis, double dots, const char *word);

/*
 * A word (kept; NULL: none) at the right edge, on a row or on the nearest that is free; on none
 * where all are taken or the row is outside.
 */
void sh_terminal_axis_put_label(struct sh_terminal_axis *axis, size_t row, const char *word);

/* Appends words, grid and scales. */
void sh_terminal_axis_write(const struct sh_terminal_axis *axis, struct sh_text *text);

#endif
