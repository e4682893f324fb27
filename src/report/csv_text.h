/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_REPORT_CSV_TEXT_H
#define SH_REPORT_CSV_TEXT_H

#include "base/text.h"

/*
 * Appends a text as the content of one cell of RFC 4180: in quotes, each quote doubled, where
 * it holds a comma, a quote or a line break. Bytes that are not UTF-8 become U+FFFD. Failures
 * stay in text->status. Any thread. Test: tests/report/test_analysis_csv.c.
 */
void sh_csv_text_put(struct sh_text *text, const char *string);

#endif
