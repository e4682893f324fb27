/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_END_SIGNAL_H
#define SH_APP_END_SIGNAL_H

#include <signal.h>

/*
 * From here on Ctrl-C, SIGTERM and a hung-up terminal only ask the program to end. Returns what
 * is other than 0 once one of them has come; it stays.
 * Test: tests/loop/test_ends.c.
 */
const volatile sig_atomic_t *sh_end_signal_catch(void);

#endif
