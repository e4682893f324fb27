/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_TESTS_REPORT_MARKUP_H
#define SH_TESTS_REPORT_MARKUP_H

#include <stddef.h>

/*
 * Fails the running test unless the text is well-formed: each tag closed in its order, each
 * attribute in double quotes and once a tag, no bare & or <. A leading document type is passed
 * over.
 */
void markup_check(const char *text);

/* How often a piece stands in the text. */
size_t markup_count(const char *text, const char *piece);

/* Fails the running test unless the piece is there; shows the text. */
void markup_check_has(const char *text, const char *piece);

#endif
