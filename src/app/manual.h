/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_MANUAL_H
#define SH_APP_MANUAL_H

#include "app/command.h"
#include "base/text.h"

/*
 * The manual page and the shell's completion, made from the same tables as the command line.
 * Failures stay in text->status. Any thread. Test: tests/app/test_manual.c.
 */

/* A manual page for man(1), in roff. */
void sh_manual_format_page(const struct sh_command *const *commands,
                           size_t n_commands,
                           struct sh_text *text);

/* A script for bash that completes commands, options and file names. */
void sh_manual_format_completion(const struct sh_command *const *commands,
                                 size_t n_commands,
                                 struct sh_text *text);

#endif
