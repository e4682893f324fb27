/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_TERMINAL_WRAP_H
#define SH_APP_TERMINAL_WRAP_H

#include <stddef.h>

#include "base/text.h"

/*
 * Appends text (lines of well-formed UTF-8) so that no line of it is wider than n_columns and
 * none ends within a word: what is too wide goes on in lines indented by two more. A word that
 * is itself too wide stands in one piece, for the terminal to part. A line that fits is kept as
 * it is. Failures stay in out->status. Cost: O(bytes). Any thread. Test:
 * tests/app/test_terminal_wrap.c.
 */
void sh_terminal_wrap(const char *text, size_t n_columns, struct sh_text *out);

#endif
