/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_OATH_H
#define SH_APP_OATH_H

#include "base/status.h"

/*
 * Signals tell all on the line when to shoot: they are for the one who is in charge of it, and
 * who says so. Asks on standard error and reads a line of standard input. SH_ERR_ARGUMENT: no
 * terminal, or another sentence; where is what asks ("clock --signals"), option what can be
 * left out
 * ("--signals"). Test: tests/loop/test_clock.c.
 */
enum sh_status sh_oath_ask(const char *where, const char *option, struct sh_error *err);

#endif
