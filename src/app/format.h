/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_FORMAT_H
#define SH_APP_FORMAT_H

#include "base/text.h"
#include "finding/analysis.h"

/* The ways in which an analysis is printed: --format of several commands. */

struct sh_format {
    const char *name; /* table, json, csv */
    enum sh_status (*write)(const struct sh_analysis *analysis, struct sh_text *text);
};

/* Finds a format by its name; NULL if there is none. Static. Test: tests/loop/test_usage.c. */
const struct sh_format *sh_format_find(const char *name);

#endif
