/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_LIVE_LINE_H
#define SH_APP_LIVE_LINE_H

#include <stdbool.h>
#include <stdint.h>

#include "base/text.h"
#include "sensor/frame.h"
#include "shot/segmenter.h"

/*
 * The line at the bottom of the terminal while a recording runs: what the archer does, for how
 * long, the force, shots so far, frames lost, and what is being typed. Where standard error is
 * no terminal there is no such line, and sentences come without it. It never wraps.
 */
struct sh_live_line {
    bool is_terminal;
    bool is_shown;
    int64_t shown_ms;
};

/* What it shows. */
struct sh_live_line_view {
    const char *athlete;
    struct sh_segmenter_state state;
    struct sh_frame_counts counts; /* of all streams */
    bool is_pulled;                /* a sensor is not there now */
    bool is_idle;                  /* no sensor has been chosen */
    const char *clock;             /* what the shooting clock has left, or "" or NULL */
    const char *goal;              /* where the hold is to its goal, or "" or NULL */
    const char *typed;
};

void sh_live_line_init(struct sh_live_line *line);

/* Shows the view, at most ten times a second. */
void sh_live_line_set(struct sh_live_line *line, const struct sh_live_line_view *view);

/* Prints text (whole lines) above the line; on a terminal no line ends within a word. */
void sh_live_line_print(struct sh_live_line *line, const char *text);

/* Takes the line away. */
void sh_live_line_close(struct sh_live_line *line);

/*
 * The line's text without terminal codes, in at most n_columns. Where not all has room, what
 * the archer does goes before a sensor that is gone, the goal, the clock, draws so far, frames
 * lost, frames damaged and the name; of what is typed the end is kept. Control characters are
 * masked. Test: tests/app/test_live_line.c.
 */
void sh_live_line_format(const struct sh_live_line_view *view,
                         size_t n_columns,
                         struct sh_text *text);

#endif
