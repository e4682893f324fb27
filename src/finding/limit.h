/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_FINDING_LIMIT_H
#define SH_FINDING_LIMIT_H

#include <stdbool.h>

#include "finding/finding.h"
#include "finding/limit_tally.h"
#include "recording/mark.h"

/*
 * Limits that a person has set for what a finger carries in one shot, a session or a day. The
 * program has none of its own. What is limited: finding/limit_kind.h.
 */

#define SH_LIMIT_COVERAGE   2.0 /* u's on the safe side of a limit */
#define SH_LIMIT_NEAR_RATIO 0.8 /* of a limit: a warning */

enum sh_limit_state {
    SH_LIMIT_UNKNOWN, /* never taken for inside */
    SH_LIMIT_INSIDE,
    SH_LIMIT_NEAR,   /* value >= 0.8 most, or value <= least / 0.8 */
    SH_LIMIT_REACHED /* value + 2 u >= most, or value - 2 u <= least */
};

/*
 * True where mark is a limit that can be watched and is in force on date ("2026-05-14"; "":
 * always). Test of all: tests/finding/test_limit.c.
 */
bool sh_limit_is_in_force(const struct sh_mark *mark, const char *date);

/*
 * Where a value stands to a limit. is_least: the value is only a lower bound; it can reach a
 * "most", else it says nothing. An unknown quantity is SH_LIMIT_UNKNOWN.
 */
enum sh_limit_state
sh_limit_judge(const struct sh_mark *mark, const struct sh_quantity *value, bool is_least);

/* Writes the sentence for a limit that is reached, or near (state), into text. */
void sh_limit_format(const struct sh_mark *mark,
                     enum sh_limit_state state,
                     const struct sh_quantity *value,
                     char text[SH_FINDING_TEXT_BYTES]);

/*
 * True where mark is in force on date and reached: by the figures of record, or by those of all
 * draws up to it (tally, which has taken record already; NULL: limits of a shot only). Then
 * *finding is filled, sentence and all. An unknown value reaches nothing: that it is unknown is
 * shown elsewhere.
 */
bool sh_limit_find(const struct sh_mark *mark,
                   const char *date,
                   const struct sh_shot_record *record,
                   const struct sh_limit_tally *tally,
                   struct sh_finding *finding);

#endif
