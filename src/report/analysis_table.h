/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_REPORT_ANALYSIS_TABLE_H
#define SH_REPORT_ANALYSIS_TABLE_H

#include "base/text.h"
#include "finding/analysis.h"

#define SH_ANALYSIS_TABLE_COLUMNS 80u

/*
 * Appends the result of a recording for people in a terminal, no line wider than
 * SH_ANALYSIS_TABLE_COLUMNS (a single figure or word that is wider stands alone on its line):
 * the recording, what stands out shot by shot as sentences, what is wrong with the data, what
 * a clock left (report/clock_table.h), then the figures with their uncertainties in blocks of
 * as many columns as fit, then what no shot shows and why. Control characters of names are
 * masked. SH_ERR_MEMORY, SH_ERR_FULL (text's limit); text then holds a part, and the same
 * status. Cost: O(shots). Any thread. Test: tests/report/test_analysis_table.c.
 */
enum sh_status sh_analysis_table_write(const struct sh_analysis *analysis,
                                       struct sh_text *text);

#endif
