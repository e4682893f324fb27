/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_CAPTURE_TERMINAL_H
#define SH_APP_CAPTURE_TERMINAL_H

#include "app/capture.h"
#include "app/goal_voice.h"
#include "app/live_line.h"
#include "app/prompt.h"

/*
 * A capture's front in the terminal: sentences and the live line on standard error, the paths
 * or shots of finished recordings on standard output, what is typed on standard input.
 * Tests: tests/loop/test_keyboard.c, test_closed_loop.c.
 */
struct sh_capture_terminal {
    const struct sh_capture_setup *setup; /* kept */
    struct sh_live_line line;
    struct sh_prompt prompt;
    bool has_prompt;
    bool is_idle;              /* so it was said */
    struct sh_goal_voice goal; /* of the archer who shoots */
};

/* Opens. The keyboard is taken over, and what can be typed is said, once the sensors run.
 * Closed by sh_capture_terminal_close. */
void sh_capture_terminal_open(struct sh_capture_terminal *terminal,
                              const struct sh_capture_setup *setup);

/* Puts the terminal back. Twice is harmless. */
void sh_capture_terminal_close(struct sh_capture_terminal *terminal);

/* The front; keeps terminal. */
struct sh_capture_front sh_capture_terminal_get_front(struct sh_capture_terminal *terminal);

#endif
