/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_REPORT_COMPARISON_SHEET_H
#define SH_REPORT_COMPARISON_SHEET_H

#include "series/comparison.h"

/* What the ways of writing a comparison down are given. Borrows all. */
struct sh_comparison_sheet {
    const char *athlete;
    const char *side[2]; /* how the sides are called: a tag's values, or folders' names */
    const char *key;     /* the tag's key, or NULL */
    const struct sh_comparison_set *set;
    const struct sh_comparison *comparison;
    uint64_t seed;
};

#endif
