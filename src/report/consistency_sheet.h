/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_REPORT_CONSISTENCY_SHEET_H
#define SH_REPORT_CONSISTENCY_SHEET_H

#include "series/consistency_study.h"

/* What the three ways of writing consistency down are given. Borrows all. */
struct sh_consistency_sheet {
    const char *athlete;
    const char *const *recordings; /* names, [n_recordings] in the set's order */
    size_t n_recordings;
    const struct sh_consistency_study *study;
};

#endif
