/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_REPORT_UTF8_H
#define SH_REPORT_UTF8_H

#include <stdbool.h>
#include <stddef.h>

#include "base/text.h"

/*
 * Names of people and folders may hold any bytes; what is written out is UTF-8. Any thread.
 * Test of all: tests/report/test_utf8.c.
 */

/* What becomes of control characters (C0, DEL, C1). */
enum sh_utf8_control {
    SH_UTF8_KEEP_CONTROL, /* the writer behind escapes them itself */
    SH_UTF8_MASK_CONTROL  /* each becomes U+FFFD: a name must not steer a terminal */
};

/*
 * Appends a NUL-terminated string; each byte that is no part of a well-formed UTF-8 sequence
 * becomes U+FFFD. Cost: O(bytes). Failures stay in text->status.
 */
void sh_utf8_put(struct sh_text *text, const char *string, enum sh_utf8_control control);

/* The same for the first n_bytes of a string. */
void sh_utf8_put_bytes(struct sh_text *text,
                       const char *bytes,
                       size_t n_bytes,
                       enum sh_utf8_control control);

/* True where all of a NUL-terminated string is well-formed. Cost: O(bytes). */
bool sh_utf8_is_valid(const char *string);

/*
 * Columns that the first n_bytes of a well-formed string take in a terminal: 2 for wide East
 * Asian characters, 0 for combining marks (Unicode's tables, by utf8proc). Bytes that are not
 * well-formed count one each.
 */
size_t sh_utf8_get_columns(const char *string, size_t n_bytes);

#endif
