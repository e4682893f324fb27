/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_FINDING_LIMIT_TALLY_H
#define SH_FINDING_LIMIT_TALLY_H

#include <stdbool.h>
#include <stddef.h>

#include "finding/finding.h"
#include "recording/mark.h"

/*
 * What the draws of a recording add up to, for limits of a session or a day. What was carried
 * earlier stands in the limit mark itself (before, before_u, before_all, before_unknown), so
 * that a recording alone gives the same again. Uncertainties are added up: one calibration
 * stands behind all draws. All zero: no draw yet. Test: tests/finding/test_limit_tally.c.
 */

#define SH_LIMIT_TALLY_FINGERS 3u

struct sh_limit_tally_sum {
    double value;
    double u;
    size_t n_unknown; /* draws of which it is not known */
};

struct sh_limit_tally {
    size_t n_draws;
    struct sh_limit_tally_sum impulse_n_s[SH_LIMIT_TALLY_FINGERS];
    struct sh_limit_tally_sum peak_n[SH_LIMIT_TALLY_FINGERS]; /* largest */
    struct sh_quantity end_s;                                 /* of the last draw */
    struct sh_quantity before_s; /* of the one before it: its end */
};

/* Takes the next draw. */
void sh_limit_tally_add(struct sh_limit_tally *tally, const struct sh_shot_record *record);

/*
 * The value that a limit is held against after record, the tally's last draw: of record for a
 * limit a shot, of all draws and the mark's "before" for a session or a day. *is_least: it is a
 * lower bound, as a part is unknown. False where the mark is no such limit, or tally is NULL
 * and needed.
 */
bool sh_limit_tally_get(const struct sh_mark *mark,
                        const struct sh_shot_record *record,
                        const struct sh_limit_tally *tally,
                        struct sh_quantity *value,
                        bool *is_least);

/* Sum of a span's earlier part and what tally holds, for the impulse of a finger
 * (SH_LIMIT_TALLY_FINGERS: all three); the mark is a limit on it. */
struct sh_limit_tally_sum sh_limit_tally_get_impulse(const struct sh_limit_tally *tally,
                                                     const struct sh_mark *mark,
                                                     size_t finger);

/* The place of a mark's finger: 0 index to 2 ring; SH_LIMIT_TALLY_FINGERS where it names none.
 */
size_t sh_limit_tally_get_finger(const struct sh_mark *mark);

#endif
