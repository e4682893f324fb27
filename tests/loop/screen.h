/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_TESTS_LOOP_SCREEN_H
#define SH_TESTS_LOOP_SCREEN_H

#include <stddef.h>

/*
 * The terminal in front of a person: what a program writes there is kept, keys are typed. All
 * fail the running test where they cannot, or where a text does not come within SCREEN_LIMIT_S.
 */

#define SCREEN_LIMIT_S 60.0
#define SCREEN_BYTES   1000000u

struct screen {
    int end;
    char path[64]; /* for program_config.screen */
    size_t n_columns;
    size_t n_bytes;
    size_t n_seen;                /* up to the end of the text last waited for */
    char bytes[SCREEN_BYTES + 1]; /* all that was written, NUL-terminated */
};

void screen_open(struct screen *screen, size_t n_columns);
void screen_close(struct screen *screen);

/* Takes what has been written, so that the program can go on. */
void screen_drain(struct screen *screen);

/* Waits for a text behind the one waited for before. */
void screen_await(struct screen *screen, const char *text);

void screen_type(struct screen *screen, const char *keys);

/* Fails unless each line that is rewritten in place is narrower than the screen. */
void screen_check_width(const struct screen *screen);

/* Fails unless the terminal takes whole lines and echoes them, as it did at first. */
void screen_check_restored(const struct screen *screen);

#endif
