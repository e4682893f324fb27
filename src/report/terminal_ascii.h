/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_REPORT_TERMINAL_ASCII_H
#define SH_REPORT_TERMINAL_ASCII_H

#include "base/text.h"

/*
 * Appends a UTF-8 string as pure ASCII, for a terminal that shows nothing else: the signs that
 * the reports use have stand-ins ("+-" for plus-minus, "2" for a raised two), every other
 * character that is not ASCII becomes "?". Failures stay in text->status. Any thread. Test:
 * tests/report/test_terminal_ascii.c.
 */
void sh_terminal_ascii_put(struct sh_text *text, const char *string);

#endif
