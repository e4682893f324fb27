/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_BASE_PERCENT_H
#define SH_BASE_PERCENT_H

#include <stdbool.h>
#include <stddef.h>

/*
 * Writes a name so that it can be that of a file: bytes other than letters, digits, '-', '.'
 * and '_' as %XX (RFC 3986, 2.1), and so a leading '.'. False, out "", where it does not fit
 * n_bytes with its NUL. Different names stay different. Any thread. Test:
 * tests/base/test_percent.c.
 */
bool sh_percent_encode(const char *name, char *out, size_t n_bytes);

#endif
