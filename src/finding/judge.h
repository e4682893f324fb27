/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_FINDING_JUDGE_H
#define SH_FINDING_JUDGE_H

#include <stddef.h>

#include "finding/baseline.h"
#include "finding/finding.h"
#include "finding/limit_tally.h"
#include "finding/thresholds.h"
#include "recording/mark.h"

/*
 * From the measures of a shot to what stands out in it (docs/findings.md).
 *
 * A finding needs two things: a value beyond the threshold, and a 95 % interval that leaves no
 * doubt. For a size that is measured from nothing (creep, flinch, collapse, a slide, a rise of
 * tremor) the interval must not hold "nothing"; for a limit on a time it must lie wholly beyond
 * the limit.
 */

/* What the findings of one recording rest on. Borrows all. */
struct sh_judge {
    const struct sh_thresholds *thresholds;
    const struct sh_baseline *baseline; /* NULL: no history */
    const struct sh_mark *marks;        /* limits among them count */
    size_t n_marks;
    const char *date; /* of the recording, "2026-05-14": which limits are in force; "" all */
    struct sh_limit_tally *tally; /* the draws so far, for limits a session or a day; NULL */
};

/*
 * Fills quality and findings of a record, whose shot and measures are there, and adds it to the
 * tally. Records of one recording come in their order. Never fails: what
 * is unknown is not judged. Findings come in the order of enum sh_code, limits in that of the
 * marks; limits beyond SH_FINDING_MAX are left out. Any thread. Test:
 * tests/finding/test_judge.c.
 */
void sh_judge_shot(const struct sh_judge *judge, struct sh_shot_record *record);

#endif
