/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_PROMPT_H
#define SH_APP_PROMPT_H

#include <stdbool.h>
#include <stddef.h>
#include <termios.h>

#include "recording/mark.h"

/*
 * The keyboard while a recording runs: lines are typed on standard input without stopping the
 * program, and what is typed so far can be shown beside a line that changes all the time. Where
 * standard input is no terminal its lines are taken as they come.
 */

#define SH_PROMPT_LINE_BYTES (SH_MARK_TEXT_BYTES + 8u)

struct sh_prompt {
    bool is_terminal;
    bool has_ended;                   /* standard input is closed */
    struct termios before;            /* the terminal's settings to be put back */
    char typed[SH_PROMPT_LINE_BYTES]; /* of the line so far */
    size_t n_typed;
};

/* Sets the terminal so that keys come at once and are not echoed; Ctrl-C goes on to interrupt.
 */
void sh_prompt_open(struct sh_prompt *prompt);

/* A prompt at which nobody types: standard input is left to others. */
void sh_prompt_open_silent(struct sh_prompt *prompt);

/* Puts the terminal back. Twice is harmless. */
void sh_prompt_close(struct sh_prompt *prompt);

/*
 * Takes what has been typed, without waiting. True where a line is complete: it is in line,
 * without its end; ask again, there may be more. A line over SH_PROMPT_LINE_BYTES is cut.
 */
bool sh_prompt_find_line(struct sh_prompt *prompt, char line[SH_PROMPT_LINE_BYTES]);

#endif
