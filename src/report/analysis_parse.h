/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_REPORT_ANALYSIS_PARSE_H
#define SH_REPORT_ANALYSIS_PARSE_H

#include <stddef.h>

#include "base/status.h"
#include "finding/analysis.h"

/*
 * Reads back what report/analysis_json.h wrote. Written again, the result gives the same bytes.
 * What the file does not hold (why a figure is unknown, the noise at rest, the strip's
 * evidence) is not there: an unknown figure is SH_WHY_NOT_ASKED.
 */

#define SH_ANALYSIS_PARSE_BYTES_MAX (1u << 30) /* a longer file is refused */

/*
 * Parses n_bytes of text into *out (set only on success; to be closed with sh_analysis_close).
 * file names the text in err. Keys that are not known are passed over.
 *
 * SH_ERR_FORMAT: no JSON, or not the shape of a result. SH_ERR_UNSUPPORTED: made by another
 * version of the program, whose figures may differ: analyse the recording again. SH_ERR_FULL:
 * too many shots. SH_ERR_MEMORY. Cost: O(n_bytes), with about ten times as much memory
 * meanwhile. Any thread. Test: tests/report/test_analysis_parse.c.
 */
enum sh_status sh_analysis_parse(const char *text,
                                 size_t n_bytes,
                                 const char *file,
                                 struct sh_analysis *out,
                                 struct sh_error *err);

/* The same of a file. Also the statuses of sh_file_text_read. */
enum sh_status
sh_analysis_parse_file(const char *path, struct sh_analysis *out, struct sh_error *err);

#endif
