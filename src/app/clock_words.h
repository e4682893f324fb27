/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_CLOCK_WORDS_H
#define SH_APP_CLOCK_WORDS_H

#include <stdbool.h>

#include "base/text.h"
#include "series/shooting_clock.h"

/*
 * The shooting clock in words. Failures stay in text->status. Test:
 * tests/app/test_clock_words.c.
 */

/*
 * The state and whose time it is: "SHOOT: you, arrow 2 of 3", "LINE UP", "HALTED", "STOP",
 * "READY", in at most 40 columns.
 */
void sh_clock_words_put_state(struct sh_text *text,
                              const struct sh_round_format *format,
                              const struct sh_shooting_clock_view *view);

/*
 * What is left, for a line beside other things: "68 s left", "line up 8 s", "other 12 s",
 * "halted 68 s", "TIME IS UP"; nothing where no clock runs or has just run out.
 */
void sh_clock_words_put_left(struct sh_text *text, const struct sh_shooting_clock_view *view);

/* An event as one sentence without a line's end: "Shoot: 120 s (one signal)." has_signals: with
 * how many signals the line gives. */
void sh_clock_words_put_event(struct sh_text *text,
                              const struct sh_round_format *format,
                              const struct sh_shooting_clock_event *event,
                              bool has_signals);

/* A format in one line: its name, arrows, times. */
void sh_clock_words_put_format(struct sh_text *text, const struct sh_round_format *format);

#endif
