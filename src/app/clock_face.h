/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_CLOCK_FACE_H
#define SH_APP_CLOCK_FACE_H

#include <signal.h>
#include <stdbool.h>

#include "app/clock_voice.h"
#include "series/shooting_clock.h"

/*
 * A shooting clock in front of people: keys from standard input, the clock on standard output
 * as a screen of large digits or a line an event, the bell of the terminal behind standard
 * error. The keys: docs/clock.md.
 */

struct sh_clock_face_config {
    struct sh_round_format format;
    enum sh_shooting_clock_side first;
    enum sh_clock_voice_kind sound;
    bool has_lines; /* a line an event, no screen */
    bool is_ascii;  /* no block characters */
};

/*
 * Runs until the key for the end, until *should_end, or until nothing more can come: no keys
 * and no clock that runs. The terminal is put back. SH_ERR_IO (standard output), SH_ERR_MEMORY.
 * Test: tests/loop/test_clock.c.
 */
enum sh_status sh_clock_face_run(const struct sh_clock_face_config *config,
                                 const volatile sig_atomic_t *should_end,
                                 struct sh_error *err);

#endif
