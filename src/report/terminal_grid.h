/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_REPORT_TERMINAL_GRID_H
#define SH_REPORT_TERMINAL_GRID_H

#include <stdbool.h>
#include <stddef.h>

#include "base/text.h"

/*
 * A drawing made of characters: cells of finer dots. BRAILLE has 2 x 4 dots a cell (Unicode's
 * braille patterns), PLAIN 1 x 2 (' above, . below, : for both), pure ASCII. Dots count from
 * the top left corner. A cell shows its letter, else its dots, else its rule. Any thread, one
 * at a time per grid. Test of all: tests/report/test_terminal_grid.c.
 */

enum sh_terminal_charset { SH_TERMINAL_BRAILLE, SH_TERMINAL_PLAIN };

#define SH_TERMINAL_GRID_CELLS_MAX 1000u /* columns, and rows, at the most */

struct sh_terminal_cell; /* of terminal_grid.c */

struct sh_terminal_grid {
    enum sh_terminal_charset charset;
    size_t n_columns;
    size_t n_rows;
    size_t n_dots_x; /* in all */
    size_t n_dots_y;
    struct sh_terminal_cell *cells; /* [n_rows][n_columns], owned */
};

/*
 * Opens an empty grid of 1 to SH_TERMINAL_GRID_CELLS_MAX columns and rows, to be closed.
 * SH_ERR_ARGUMENT: not so many. SH_ERR_MEMORY. *grid is then closed.
 */
enum sh_status sh_terminal_grid_open(struct sh_terminal_grid *grid,
                                     enum sh_terminal_charset charset,
                                     size_t n_columns,
                                     size_t n_rows);

/* Frees what the grid holds. Takes a closed or zeroed one. */
void sh_terminal_grid_close(struct sh_terminal_grid *grid);

/*
 * Sets the dots of a straight line between two places in dots (rounded to the nearest; what
 * lies outside is cut off); dashed leaves out every other pair of columns. Both ends must be
 * finite. Cost: O(dots).
 */
void sh_terminal_grid_put_line(struct sh_terminal_grid *grid,
                               const double from[2],
                               const double to[2],
                               bool is_dashed);

/* The same with a letter in each cell that the line crosses. */
void sh_terminal_grid_put_letters(struct sh_terminal_grid *grid,
                                  const double from[2],
                                  const double to[2],
                                  char letter);

/* Shows a letter in the cell in which a dot lies; outside, nothing happens. */
void sh_terminal_grid_put_letter(struct sh_terminal_grid *grid,
                                 const double at[2],
                                 char letter);

/* Rules a column or a row of cells behind all else; outside, nothing happens. */
void sh_terminal_grid_rule_column(struct sh_terminal_grid *grid, size_t column);
void sh_terminal_grid_rule_row(struct sh_terminal_grid *grid, size_t row);

/* Columns of a row up to its last cell that is not blank. row is below n_rows. */
size_t sh_terminal_grid_get_width(const struct sh_terminal_grid *grid, size_t row);

/* Appends the first n_columns cells of a row. row is below n_rows. */
void sh_terminal_grid_write_row(const struct sh_terminal_grid *grid,
                                size_t row,
                                size_t n_columns,
                                struct sh_text *text);

#endif
