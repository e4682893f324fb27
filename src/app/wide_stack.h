/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_WIDE_STACK_H
#define SH_APP_WIDE_STACK_H

#include <stddef.h>

#include "base/status.h"

/* As a program's first thread has as a rule. */
#define SH_WIDE_STACK_BYTES ((size_t)8 << 20)

/*
 * Runs work(context) on a thread of its own with SH_WIDE_STACK_BYTES of stack, and waits for
 * its end: the HTTP library's threads have 100 kB, which a session alone would fill.
 * SH_ERR_MEMORY: there is no such thread to be had, nothing was run. Cost: some 50 us. Any
 * thread. Test: tests/app/test_wide_stack.c.
 */
enum sh_status sh_wide_stack_run(void (*work)(void *context), void *context);

#endif
