/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_TESTS_REPORT_MADE_COMPARISON_H
#define SH_TESTS_REPORT_MADE_COMPARISON_H

#include "report/comparison_sheet.h"

#define MADE_RING_SHARE 7u

/* A comparison made by hand. */
struct made_comparison {
    struct sh_comparison_set set;
    struct sh_comparison comparison;
    struct sh_comparison_sheet sheet;
};

/* Of 6 and 6 sessions with another tab; only the hold is known, and has not changed. */
void made_comparison_open(struct made_comparison *made);

/* The ring finger's share is 2.1 % less. */
void made_comparison_add_change(struct made_comparison *made);

#endif
