/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_TESTS_REPORT_WIDTH_CHECK_H
#define SH_TESTS_REPORT_WIDTH_CHECK_H

#include <stddef.h>

/* Fails the running test where a line of the text is wider than so many columns. */
void width_check(const char *text, size_t n_columns);

#endif
