/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/terminal_axis.h"

#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "report/utf8.h"

#define COLUMNS_PER_TICK 9u /* of the scale of x, at the least */
#define ROWS_PER_TICK    2u
#define TICK_NEAR        1e-6

/* Characters of the axes. */
struct strokes {
    const char *side;
    const char *side_tick;
    const char *corner;
    const char *floor;
    const char *floor_tick;
};

static const struct strokes *get_strokes(const struct sh_terminal_axis *axis)
{
    /* U+2502, U+2524, U+2514, U+2500, U+252C */
    static const struct strokes drawn = {"\xE2\x94\x82", "\xE2\x94\xA4", "\xE2\x94\x94",
                                         "\xE2\x94\x80", "\xE2\x94\xAC"};
    static const struct strokes plain = {"|", "+", "+", "-", "+"};
    return axis->grid.charset == SH_TERMINAL_BRAILLE ? &drawn : &plain;
}

/* Whether a tick lies within a range. */
static bool is_inside(const double range[2], double value)
{
    double slack = TICK_NEAR * (range[1] - range[0]);
    return value >= range[0] - slack && value <= range[1] + slack;
}

/* Columns of the widest tick of y. */
static size_t measure_ticks(const struct sh_terminal_axis *axis)
{
    const struct sh_ruler *ruler = &axis->y_ticks;
    size_t n_columns = 0;
    for (size_t i = 0; i < ruler->n_ticks; i++) {
        char tick[SH_RULER_TICK_BYTES];
        sh_ruler_format_tick(ruler, i, tick);
        if (!is_inside(axis->y, sh_ruler_get_tick(ruler, i))) {
            continue;
        }
        n_columns = strlen(tick) > n_columns ? strlen(tick) : n_columns;
    }
    return n_columns;
}

enum sh_status sh_terminal_axis_open(struct sh_terminal_axis *axis,
                                     enum sh_terminal_charset charset,
                                     size_t n_columns,
                                     size_t n_rows)
{
    const size_t n_ticks = n_rows / ROWS_PER_TICK + 2;
    axis->y_ticks = sh_ruler_fit(axis->y[0], axis->y[1], n_ticks);
    axis->n_left = measure_ticks(axis) + 2;
    if (axis->n_left + axis->n_right >= n_columns) {
        return SH_ERR_ARGUMENT;
    }
    const size_t n_inside = n_columns - axis->n_left - axis->n_right;
    enum sh_status status = sh_terminal_grid_open(&axis->grid, charset, n_inside, n_rows);
    if (status != SH_OK) {
        return status;
    }
    axis->labels = calloc(n_rows, sizeof *axis->labels);
    return axis->labels != NULL ? SH_OK : SH_ERR_MEMORY;
}

void sh_terminal_axis_close(struct sh_terminal_axis *axis)
{
    sh_terminal_grid_close(&axis->grid);
    free(axis->labels);
    axis->labels = NULL;
}

size_t sh_terminal_axis_get_row(const struct sh_terminal_axis *axis, double dots)
{
    const size_t n_rows = axis->grid.n_rows;
    const double dot = floor(dots + 0.5);
    if (!(dot >= 0.0 && dot < (double)axis->grid.n_dots_y)) {
        return n_rows;
    }
    return (size_t)dot * n_rows / axis->grid.n_dots_y;
}

static bool is_touching(const struct sh_terminal_word *a, const struct sh_terminal_word *b)
{
    return a->height == b->height && a->column <= b->column + b->n_columns &&
           b->column <= a->column + a->n_columns;
}

static bool is_free(const struct sh_terminal_axis *axis, const struct sh_terminal_word *word)
{
    for (size_t i = 0; i < axis->n_words; i++) {
        if (is_touching(&axis->words[i], word)) {
            return false;
        }
    }
    return true;
}

void sh_terminal_axis_put_mark(struct sh_terminal_axis *axis, double dots, const char *word)
{
    const size_t n_columns = axis->grid.n_columns;
    const size_t column = (size_t)floor(dots + 0.5) * n_columns / axis->grid.n_dots_x;
    struct sh_terminal_word placed = {
        .text = word, .column = column, .n_columns = sh_utf8_get_columns(word, strlen(word))};
    sh_terminal_grid_rule_column(&axis->grid, column);
    if (axis->n_words == SH_TERMINAL_AXIS_WORDS_MAX || placed.n_columns > n_columns) {
        return;
    }
    if (placed.column + placed.n_columns > n_columns) {
        placed.column = n_columns - placed.n_columns;
    }
    while (!is_free(axis, &placed)) {
        placed.height++;
    }
    axis->words[axis->n_words++] = placed;
}

void sh_terminal_axis_put_label(struct sh_terminal_axis *axis, size_t row, const char *word)
{
    const size_t n_rows = axis->grid.n_rows;
    if (word == NULL || row >= n_rows) {
        return;
    }
    for (size_t away = 0; away < n_rows; away++) {
        if (row + away < n_rows && axis->labels[row + away] == NULL) {
            axis->labels[row + away] = word;
            return;
        }
        if (row >= away && axis->labels[row - away] == NULL) {
            axis->labels[row - away] = word;
            return;
        }
    }
}

static void write_blanks(struct sh_text *text, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        sh_text_puts(text, " ");
    }
}

/* The words that stand at one height, from the left on. */
static void
write_words_at(const struct sh_terminal_axis *axis, size_t height, struct sh_text *text)
{
    size_t column = 0;
    write_blanks(text, axis->n_left);
    for (;;) {
        const struct sh_terminal_word *next = NULL;
        for (size_t i = 0; i < axis->n_words; i++) {
            const struct sh_terminal_word *word = &axis->words[i];
            bool is_ahead = word->height == height && word->column >= column;
            next = is_ahead && (next == NULL || word->column < next->column) ? word : next;
        }
        if (next == NULL) {
            break;
        }
        write_blanks(text, next->column - column);
        sh_utf8_put(text, next->text, SH_UTF8_MASK_CONTROL);
        column = next->column + next->n_columns;
    }
    sh_text_puts(text, "\n");
}

static void write_words(const struct sh_terminal_axis *axis, struct sh_text *text)
{
    size_t n_heights = 0;
    for (size_t i = 0; i < axis->n_words; i++) {
        size_t height = axis->words[i].height + 1;
        n_heights = height > n_heights ? height : n_heights;
    }
    for (size_t height = n_heights; height-- > 0;) {
        write_words_at(axis, height, text);
    }
}

/* The tick of y that stands on a row; false where none does. */
static bool find_tick(const struct sh_terminal_axis *axis, size_t row, size_t *tick)
{
    for (size_t i = 0; i < axis->y_ticks.n_ticks; i++) {
        double value = sh_ruler_get_tick(&axis->y_ticks, i);
        double share = (axis->y[1] - value) / (axis->y[1] - axis->y[0]);
        double dots = share * (double)(axis->grid.n_dots_y - 1);
        if (is_inside(axis->y, value) && sh_terminal_axis_get_row(axis, dots) == row) {
            *tick = i;
            return true;
        }
    }
    return false;
}

/* A word cut to the columns right of the grid. */
static void
write_label(const struct sh_terminal_axis *axis, const char *word, struct sh_text *text)
{
    size_t n_bytes = strlen(word);
    while (n_bytes > 0 && (sh_utf8_get_columns(word, n_bytes) > axis->n_right - 1 ||
                           ((unsigned char)word[n_bytes] & 0xC0u) == 0x80u)) {
        n_bytes--;
    }
    sh_text_puts(text, " ");
    sh_utf8_put_bytes(text, word, n_bytes, SH_UTF8_MASK_CONTROL);
}

/* One row of the grid with its tick on the left and its word on the right. */
static void write_row(const struct sh_terminal_axis *axis, size_t row, struct sh_text *text)
{
    const struct strokes *strokes = get_strokes(axis);
    const char *label = axis->labels[row];
    char words[SH_RULER_TICK_BYTES] = "";
    size_t tick = 0;
    bool has_tick = find_tick(axis, row, &tick);
    if (has_tick) {
        sh_ruler_format_tick(&axis->y_ticks, tick, words);
    }
    sh_text_printf(text, "%*s %s", (int)axis->n_left - 2, words,
                   has_tick ? strokes->side_tick : strokes->side);
    sh_terminal_grid_write_row(&axis->grid, row,
                               label != NULL ? axis->grid.n_columns
                                             : sh_terminal_grid_get_width(&axis->grid, row),
                               text);
    if (label != NULL) {
        write_label(axis, label, text);
    }
    sh_text_puts(text, "\n");
}

/* The column of the grid in which a value of x lies. */
static size_t get_column(const struct sh_terminal_axis *axis, double x)
{
    double share = (x - axis->x[0]) / (axis->x[1] - axis->x[0]);
    double dot = floor(share * (double)(axis->grid.n_dots_x - 1) + 0.5);
    return (size_t)dot * axis->grid.n_columns / axis->grid.n_dots_x;
}

static void write_floor(const struct sh_terminal_axis *axis,
                        const struct sh_ruler *ruler,
                        struct sh_text *text)
{
    const struct strokes *strokes = get_strokes(axis);
    size_t column = 0;
    write_blanks(text, axis->n_left - 1);
    sh_text_puts(text, strokes->corner);
    for (size_t i = 0; i < ruler->n_ticks; i++) {
        double x = sh_ruler_get_tick(ruler, i);
        if (!is_inside(axis->x, x)) {
            continue;
        }
        for (; column < get_column(axis, x); column++) {
            sh_text_puts(text, strokes->floor);
        }
        sh_text_puts(text, strokes->floor_tick);
        column++;
    }
    for (; column < axis->grid.n_columns; column++) {
        sh_text_puts(text, strokes->floor);
    }
    sh_text_puts(text, "\n");
}

/* A tick's text, centred below it: where it begins. */
static size_t place_tick(const struct sh_terminal_axis *axis,
                         const struct sh_ruler *ruler,
                         size_t i,
                         char tick[SH_RULER_TICK_BYTES])
{
    sh_ruler_format_tick(ruler, i, tick);
    size_t middle = axis->n_left + get_column(axis, sh_ruler_get_tick(ruler, i));
    size_t half = strlen(tick) / 2;
    return middle > half ? middle - half : 0;
}

/* The ticks' texts up to a column, where the axis' name begins, and the name. */
static void write_ticks(const struct sh_terminal_axis *axis,
                        const struct sh_ruler *ruler,
                        size_t name_at,
                        struct sh_text *text)
{
    size_t column = 0;
    for (size_t i = 0; i < ruler->n_ticks; i++) {
        char tick[SH_RULER_TICK_BYTES];
        if (!is_inside(axis->x, sh_ruler_get_tick(ruler, i))) {
            continue;
        }
        size_t at = place_tick(axis, ruler, i, tick);
        if ((column == 0 || at > column) && at + strlen(tick) < name_at) {
            write_blanks(text, at - column);
            sh_text_puts(text, tick);
            column = at + strlen(tick);
        }
    }
    if (axis->x_name[0] != '\0') {
        write_blanks(text, name_at - column);
        sh_utf8_put(text, axis->x_name, SH_UTF8_MASK_CONTROL);
    }
    sh_text_puts(text, "\n");
}

/* Where the axis' name begins: it ends with the line. */
static size_t place_name(const struct sh_terminal_axis *axis)
{
    const size_t n_name = sh_utf8_get_columns(axis->x_name, strlen(axis->x_name));
    const size_t n_all = axis->n_left + axis->grid.n_columns + axis->n_right;
    return n_name < n_all ? n_all - n_name : 0;
}

void sh_terminal_axis_write(const struct sh_terminal_axis *axis, struct sh_text *text)
{
    const struct sh_ruler x =
        sh_ruler_fit(axis->x[0], axis->x[1], axis->grid.n_columns / COLUMNS_PER_TICK + 3);
    write_words(axis, text);
    for (size_t row = 0; row < axis->grid.n_rows; row++) {
        write_row(axis, row, text);
    }
    write_floor(axis, &x, text);
    write_ticks(axis, &x, place_name(axis), text);
}
