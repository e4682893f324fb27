/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_CLOCK_SCREEN_H
#define SH_APP_CLOCK_SCREEN_H

#include <stdbool.h>
#include <stddef.h>

#include "base/text.h"
#include "series/shooting_clock.h"

/*
 * The clock as it fills a terminal: the format, the state in words, the seconds left in digits
 * as large as there is room for, the keys. Colour says nothing: where shooting is allowed the
 * digits are full, else they are hatched; at the warning they stand between two bars.
 */
struct sh_clock_screen {
    size_t n_rows; /* of the terminal */
    size_t n_columns;
    bool is_ascii; /* no block characters */
};

/*
 * Appends the lines, each ended by a line break, without terminal codes: at most n_rows - 1 of
 * them, none wider than n_columns. Where there is no room for large digits the number stands as
 * text. Failures stay in text->status. Test: tests/app/test_clock_screen.c.
 */
void sh_clock_screen_format(const struct sh_clock_screen *screen,
                            const struct sh_round_format *format,
                            const struct sh_shooting_clock_view *view,
                            struct sh_text *text);

#endif
