/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_LIVE_CLOCK_H
#define SH_APP_LIVE_CLOCK_H

#include <jansson.h>

#include "app/capture.h"

/*
 * The shooting clock on the live page: what it shows, the formats it offers, and the values
 * that a person changes there. Tests: tests/app/test_live_clock.c; the real program:
 * tests/live/test_evening.py.
 */

/* Appends ,"formats":[names],"rounds":[{"name", "kind", each value by its key}]: that of
 * --clock first where it is none of the program's own. */
void sh_live_clock_put_formats(const struct sh_capture_setup *setup, struct sh_text *text);

/*
 * The format that a command asks for by "format", with the values of "set" ({"shooting_s":
 * 100}: numbers, or texts of such). SH_ERR_ARGUMENT: no such format, or values that make none;
 * *out is then untouched.
 */
enum sh_status sh_live_clock_choose(const struct sh_capture_setup *setup,
                                    const json_t *object,
                                    struct sh_round_format *out,
                                    struct sh_error *err);

/* Appends ,"clock":{...} as it is seen, null where view is NULL. */
void sh_live_clock_put(const struct sh_shooting_clock_view *view,
                       const struct sh_round_format *format,
                       struct sh_text *text);

#endif
