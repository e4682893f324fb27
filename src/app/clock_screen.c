/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/clock_screen.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "app/clock_words.h"
#include "report/utf8.h"

#define DIGIT_ROWS    5u
#define DIGIT_COLUMNS 3u
#define TEXT_ROWS     7u /* name, state, two bars, two lines of keys, the last row of all */
#define SLENDER       3u /* a dot of a digit is at most so many columns a row wide, */
#define STOUT         1u /* and so many rows a column high */
#define DIGITS_MAX    8u

/* Three dots a row, five rows, from the top; bit 2 is the left dot. */
static const unsigned char digits[10][DIGIT_ROWS] = {
    {7, 5, 5, 5, 7}, {2, 6, 2, 2, 7}, {7, 1, 7, 4, 7}, {7, 1, 7, 1, 7}, {5, 5, 7, 1, 1},
    {7, 4, 7, 1, 7}, {7, 4, 7, 5, 7}, {7, 1, 2, 2, 2}, {7, 5, 7, 5, 7}, {7, 5, 7, 1, 7},
};

/* How the digits are laid out. */
struct layout {
    size_t n_digits;
    size_t dot_columns; /* 0: no room for large digits */
    size_t dot_rows;
    size_t indent;
    const char *dot; /* what fills a dot's column */
};

static size_t least(size_t a, size_t b)
{
    return a < b ? a : b;
}

static size_t count_digits(double seconds)
{
    char number[DIGITS_MAX + 1];
    int n = snprintf(number, sizeof number, "%.0f", ceil(seconds));
    return n > 0 ? least((size_t)n, DIGITS_MAX) : 1;
}

static const char *choose_dot(const struct sh_clock_screen *screen,
                              const struct sh_shooting_clock_view *view)
{
    const bool may_shoot = view->state == SH_SHOOTING_CLOCK_SHOOTING && view->seconds > 0;
    if (screen->is_ascii) {
        return may_shoot ? "#" : ":";
    }
    return may_shoot ? "\u2588" : "\u2592";
}

static struct layout make_layout(const struct sh_clock_screen *screen,
                                 const struct sh_round_format *format,
                                 const struct sh_shooting_clock_view *view)
{
    struct layout layout = {.n_digits =
                                count_digits(fmax(format->shooting_s, format->line_up_s)),
                            .dot = choose_dot(screen, view)};
    const size_t n_dots = layout.n_digits * (DIGIT_COLUMNS + 1) - 1;
    const size_t n_rows = screen->n_rows > TEXT_ROWS ? screen->n_rows - TEXT_ROWS : 0;
    const size_t columns = screen->n_columns / n_dots;
    const size_t rows = n_rows / DIGIT_ROWS;
    if (columns == 0 || rows == 0) {
        return layout;
    }
    layout.dot_columns = least(columns, SLENDER * rows);
    layout.dot_rows = least(rows, STOUT * layout.dot_columns);
    layout.indent = (screen->n_columns - n_dots * layout.dot_columns) / 2;
    return layout;
}

static void put_times(struct sh_text *text, const char *string, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        sh_text_puts(text, string);
    }
}

/* One row of dots of a number that stands at the right of its place. */
static void
put_dots(struct sh_text *text, const struct layout *layout, const char *number, size_t row)
{
    const size_t n_blank = layout->n_digits - strlen(number);
    put_times(text, " ", layout->indent + n_blank * (DIGIT_COLUMNS + 1) * layout->dot_columns);
    for (const char *at = number; *at != '\0'; at++) {
        const unsigned dots = digits[*at - '0'][row];
        for (unsigned bit = 1u << (DIGIT_COLUMNS - 1); bit > 0; bit >>= 1) {
            put_times(text, (dots & bit) != 0 ? layout->dot : " ", layout->dot_columns);
        }
        put_times(text, " ", at[1] != '\0' ? layout->dot_columns : 0);
    }
    sh_text_puts(text, "\n");
}

static void put_bar(struct sh_text *text,
                    const struct sh_clock_screen *screen,
                    const struct layout *layout,
                    const struct sh_shooting_clock_view *view)
{
    put_times(text, layout->dot, view->is_warning ? screen->n_columns : 0);
    sh_text_puts(text, "\n");
}

static void put_number(struct sh_text *text,
                       const struct sh_clock_screen *screen,
                       const struct sh_round_format *format,
                       const struct sh_shooting_clock_view *view)
{
    const struct layout layout = make_layout(screen, format, view);
    const bool is_ready = view->state == SH_SHOOTING_CLOCK_READY;
    char number[DIGITS_MAX + 1];
    (void)snprintf(number, sizeof number, "%.0f",
                   is_ready ? ceil(format->shooting_s) : (double)view->seconds);
    if (layout.dot_columns == 0 || strlen(number) > layout.n_digits) {
        const bool has_room = strlen(number) <= screen->n_columns; /* a part would be wrong */
        sh_text_printf(text, "%s\n", has_room ? number : "");
        return;
    }
    put_bar(text, screen, &layout, view);
    for (size_t i = 0; i < DIGIT_ROWS * layout.dot_rows; i++) {
        put_dots(text, &layout, number, i / layout.dot_rows);
    }
    put_bar(text, screen, &layout, view);
}

/* A line, cut where the screen ends. */
static void
put_line(struct sh_text *text, const struct sh_clock_screen *screen, const char *line)
{
    size_t n_bytes = strlen(line);
    while (n_bytes > 0 && (sh_utf8_get_columns(line, n_bytes) > screen->n_columns ||
                           ((unsigned char)line[n_bytes] & 0xC0) == 0x80)) {
        n_bytes--;
    }
    sh_text_write(text, line, n_bytes);
    sh_text_puts(text, "\n");
}

static void put_keys(struct sh_text *text,
                     const struct sh_clock_screen *screen,
                     const struct sh_round_format *format)
{
    put_line(text, screen, "c start/go on  h halt  s stop  q end");
    if (format->kind == SH_ROUND_FORMAT_ALTERNATING) {
        put_line(text, screen, "r you have shot  o the other has shot");
    } else if (format->n_archers > 1) {
        put_line(text, screen, "r an arrow has gone  n next archer");
    }
}

void sh_clock_screen_format(const struct sh_clock_screen *screen,
                            const struct sh_round_format *format,
                            const struct sh_shooting_clock_view *view,
                            struct sh_text *text)
{
    struct sh_text words;
    sh_text_init(&words, 0);
    sh_utf8_put(&words, format->name, SH_UTF8_MASK_CONTROL);
    put_line(text, screen, words.data != NULL ? words.data : "");
    sh_text_reset(&words);
    sh_clock_words_put_state(&words, format, view);
    put_line(text, screen, words.data != NULL ? words.data : "");
    put_number(text, screen, format, view);
    put_keys(text, screen, format);
    if (text->status == SH_OK) {
        text->status = words.status;
    }
    sh_text_close(&words);
}
