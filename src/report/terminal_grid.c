/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/terminal_grid.h"

#include <math.h>
#include <stdlib.h>

#define BRAILLE_FIRST 0x2800u
#define DASH_DOTS     2 /* drawn, then left out */

struct sh_terminal_cell {
    unsigned char dots; /* bits of Unicode's braille patterns; PLAIN: 1 above, 2 below */
    char letter;        /* 0: none */
    bool is_column_rule;
    bool is_row_rule;
};

static size_t get_dots_x(const struct sh_terminal_grid *grid)
{
    return grid->charset == SH_TERMINAL_BRAILLE ? 2 : 1;
}

static size_t get_dots_y(const struct sh_terminal_grid *grid)
{
    return grid->charset == SH_TERMINAL_BRAILLE ? 4 : 2;
}

enum sh_status sh_terminal_grid_open(struct sh_terminal_grid *grid,
                                     enum sh_terminal_charset charset,
                                     size_t n_columns,
                                     size_t n_rows)
{
    *grid = (struct sh_terminal_grid){.charset = charset};
    if (n_columns < 1 || n_columns > SH_TERMINAL_GRID_CELLS_MAX || n_rows < 1 ||
        n_rows > SH_TERMINAL_GRID_CELLS_MAX) {
        return SH_ERR_ARGUMENT;
    }
    grid->cells = calloc(n_columns * n_rows, sizeof *grid->cells);
    if (grid->cells == NULL) {
        return SH_ERR_MEMORY;
    }
    grid->n_columns = n_columns;
    grid->n_rows = n_rows;
    grid->n_dots_x = n_columns * get_dots_x(grid);
    grid->n_dots_y = n_rows * get_dots_y(grid);
    return SH_OK;
}

void sh_terminal_grid_close(struct sh_terminal_grid *grid)
{
    free(grid->cells);
    *grid = (struct sh_terminal_grid){0};
}

/* The cell in which a dot lies; NULL outside. */
static struct sh_terminal_cell *
find_cell(const struct sh_terminal_grid *grid, double x, double y)
{
    if (!(x >= 0.0 && y >= 0.0 && x < (double)grid->n_dots_x && y < (double)grid->n_dots_y)) {
        return NULL;
    }
    size_t column = (size_t)x / get_dots_x(grid);
    size_t row = (size_t)y / get_dots_y(grid);
    return &grid->cells[row * grid->n_columns + column];
}

static void put_dot(struct sh_terminal_grid *grid, double x, double y)
{
    static const unsigned char bits[4][2] = {
        {0x01, 0x08}, {0x02, 0x10}, {0x04, 0x20}, {0x40, 0x80}};
    struct sh_terminal_cell *cell = find_cell(grid, x, y);
    if (cell == NULL) {
        return;
    }
    bool is_braille = grid->charset == SH_TERMINAL_BRAILLE;
    unsigned bit = is_braille ? bits[(size_t)y % 4][(size_t)x % 2] : 1u << (size_t)y % 2;
    cell->dots = (unsigned char)(cell->dots | bit);
}

/* Narrows the part of a line, from part[0] to part[1], to where one coordinate is in range. */
static void cut(double from, double to, double most, double part[2])
{
    double length = to - from;
    if (fabs(length) < 1e-12) {
        part[1] = from < -1.0 || from > most ? -1.0 : part[1];
        return;
    }
    double at_lo = (-1.0 - from) / length;
    double at_hi = (most - from) / length;
    part[0] = fmax(part[0], fmin(at_lo, at_hi));
    part[1] = fmin(part[1], fmax(at_lo, at_hi));
}

/* Steps of one dot from start along way. */
struct walk {
    double start[2];
    double way[2];
    size_t n_steps;
};

/* The part of a line that lies on the grid; false where none does. */
static bool find_walk(const struct sh_terminal_grid *grid,
                      const double from[2],
                      const double to[2],
                      struct walk *walk)
{
    double part[2] = {0.0, 1.0};
    cut(from[0], to[0], (double)grid->n_dots_x, part);
    cut(from[1], to[1], (double)grid->n_dots_y, part);
    for (size_t k = 0; k < 2; k++) {
        walk->start[k] = from[k] + part[0] * (to[k] - from[k]);
        walk->way[k] = (part[1] - part[0]) * (to[k] - from[k]);
    }
    walk->n_steps = (size_t)ceil(fmax(fabs(walk->way[0]), fabs(walk->way[1])));
    return part[1] >= part[0];
}

/* The dot of a step. */
static void get_step(const struct walk *walk, size_t i, double at[2])
{
    double share = walk->n_steps > 0 ? (double)i / (double)walk->n_steps : 0.0;
    at[0] = floor(walk->start[0] + share * walk->way[0] + 0.5);
    at[1] = floor(walk->start[1] + share * walk->way[1] + 0.5);
}

void sh_terminal_grid_put_line(struct sh_terminal_grid *grid,
                               const double from[2],
                               const double to[2],
                               bool is_dashed)
{
    struct walk walk;
    if (!find_walk(grid, from, to, &walk)) {
        return;
    }
    for (size_t i = 0; i <= walk.n_steps; i++) {
        double at[2];
        get_step(&walk, i, at);
        if (!is_dashed || (at[0] >= 0.0 && (size_t)at[0] / DASH_DOTS % 2 == 0)) {
            put_dot(grid, at[0], at[1]);
        }
    }
}

void sh_terminal_grid_put_letters(struct sh_terminal_grid *grid,
                                  const double from[2],
                                  const double to[2],
                                  char letter)
{
    struct walk walk;
    if (!find_walk(grid, from, to, &walk)) {
        return;
    }
    for (size_t i = 0; i <= walk.n_steps; i++) {
        double at[2];
        get_step(&walk, i, at);
        sh_terminal_grid_put_letter(grid, at, letter);
    }
}

void sh_terminal_grid_put_letter(struct sh_terminal_grid *grid, const double at[2], char letter)
{
    struct sh_terminal_cell *cell = find_cell(grid, floor(at[0] + 0.5), floor(at[1] + 0.5));
    if (cell != NULL) {
        cell->letter = letter;
    }
}

void sh_terminal_grid_rule_column(struct sh_terminal_grid *grid, size_t column)
{
    for (size_t row = 0; column < grid->n_columns && row < grid->n_rows; row++) {
        grid->cells[row * grid->n_columns + column].is_column_rule = true;
    }
}

void sh_terminal_grid_rule_row(struct sh_terminal_grid *grid, size_t row)
{
    for (size_t column = 0; row < grid->n_rows && column < grid->n_columns; column++) {
        grid->cells[row * grid->n_columns + column].is_row_rule = true;
    }
}

/* A point of U+2800 to U+28FF in UTF-8. */
static void write_braille(unsigned dots, struct sh_text *text)
{
    unsigned point = BRAILLE_FIRST + dots;
    const char bytes[3] = {(char)(0xE0u | point >> 12), (char)(0x80u | (point >> 6 & 0x3Fu)),
                           (char)(0x80u | (point & 0x3Fu))};
    sh_text_write(text, bytes, sizeof bytes);
}

static void write_cell(const struct sh_terminal_grid *grid,
                       const struct sh_terminal_cell *cell,
                       struct sh_text *text)
{
    static const char *const plain_dots[] = {" ", "'", ".", ":"};
    bool is_braille = grid->charset == SH_TERMINAL_BRAILLE;
    if (cell->letter != 0) {
        sh_text_write(text, &cell->letter, 1);
    } else if (cell->dots != 0 && is_braille) {
        write_braille(cell->dots, text);
    } else if (cell->dots != 0) {
        sh_text_puts(text, plain_dots[cell->dots]);
    } else if (cell->is_column_rule) {
        sh_text_puts(text, is_braille ? "\xE2\x94\x8A" : "|"); /* U+250A */
    } else if (cell->is_row_rule) {
        sh_text_puts(text, is_braille ? "\xE2\x94\x88" : "-"); /* U+2508 */
    } else {
        sh_text_puts(text, " ");
    }
}

static bool is_blank(const struct sh_terminal_cell *cell)
{
    return cell->letter == 0 && cell->dots == 0 && !cell->is_column_rule && !cell->is_row_rule;
}

size_t sh_terminal_grid_get_width(const struct sh_terminal_grid *grid, size_t row)
{
    const struct sh_terminal_cell *cells = &grid->cells[row * grid->n_columns];
    size_t n_columns = grid->n_columns;
    while (n_columns > 0 && is_blank(&cells[n_columns - 1])) {
        n_columns--;
    }
    return n_columns;
}

void sh_terminal_grid_write_row(const struct sh_terminal_grid *grid,
                                size_t row,
                                size_t n_columns,
                                struct sh_text *text)
{
    for (size_t column = 0; column < n_columns; column++) {
        write_cell(grid, &grid->cells[row * grid->n_columns + column], text);
    }
}
