/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_REPORT_COMPARISON_JSON_H
#define SH_REPORT_COMPARISON_JSON_H

#include "base/text.h"
#include "report/comparison_sheet.h"

/* Writes a comparison as one JSON object; docs/compare.md lists its keys. SH_ERR_MEMORY. Test:
 * tests/report/test_comparison_words.c. */
enum sh_status sh_comparison_json_write(const struct sh_comparison_sheet *sheet,
                                        struct sh_text *text);

#endif
