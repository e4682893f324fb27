/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_IN_CHARGE_H
#define SH_APP_IN_CHARGE_H

#include "base/status.h"

/*
 * Signals tell all on the line when to shoot: they are for the one who is in charge of it, and
 * who says so. Asks on standard error and reads a line of standard input. where is what asks
 * ("clock --signals"), option what can be left out ("--signals"). SH_ERR_ARGUMENT: no terminal,
 * or another sentence. Test: tests/loop/test_clock.c.
 */
enum sh_status sh_in_charge_ask(const char *where, const char *option, struct sh_error *err);

#endif
