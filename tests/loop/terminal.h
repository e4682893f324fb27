/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_TESTS_LOOP_TERMINAL_H
#define SH_TESTS_LOOP_TERMINAL_H

#include <stddef.h>

/*
 * A pseudo-terminal of a test's own, in place of a sensor. All fail the running test where they
 * cannot, or where a reader does not come or stops reading within TERMINAL_LIMIT_S.
 */

#define TERMINAL_LIMIT_S 60.0

struct terminal {
    int end;       /* the sensor's */
    char path[64]; /* the reader's */
};

void terminal_open(struct terminal *terminal);
void terminal_close(struct terminal *terminal); /* hangs up, once all has been read */
void terminal_await_reader(const struct terminal *terminal);

/* Sends bytes as fast as they are taken; returns when the last is on its way. */
void terminal_send(const struct terminal *terminal, const char *bytes, size_t n_bytes);

/* Random bytes, the same each time. */
void terminal_send_garbage(const struct terminal *terminal, size_t n_bytes);

/* Lines "micros,count" of frames from..until (without) of a sensor at 1000 Hz, count 812. */
void terminal_send_lines(const struct terminal *terminal, size_t from, size_t until);

#endif
