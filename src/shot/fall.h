/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SHOT_FALL_H
#define SH_SHOT_FALL_H

#include <stdbool.h>
#include <stddef.h>

#include "shot/pull.h"
#include "shot/shot.h"

/*
 * The last fall of a draw's force, and what its length says: docs/definitions.md, "Net force
 * and draw". Plain values, any thread. Test: tests/shot/test_fall.c.
 */
#define SH_FALL_SHOT_MAX_S     0.05
#define SH_FALL_LET_DOWN_MIN_S 0.15

struct sh_fall {
    double largest_n; /* largest 20 ms mean of the draw */
    double high_n;    /* from where it fell, to where */
    double low_n;
    size_t half;     /* last average at half the draw's largest force or above */
    double begin;    /* averages (with fraction): 10 % and 90 % of the way down */
    double end;      /* the same */
    double length_s; /* between the two */
};

/*
 * Finds the fall in the averages first .. end - 1 of a draw that is over at end: the last time
 * at half its largest 20 ms mean. From the largest mean of the 0.25 s before to the smallest
 * of the 0.25 s after (this may reach beyond end), when 10 % and 90 % of that were gone. False
 * where it never rose, or never came below the 90 %. *out is then meaningless. Cost: O(n).
 */
bool sh_fall_find(const struct sh_pull *pull, size_t first, size_t end, struct sh_fall *out);

/*
 * What kind of draw ends with a fall of that length. Between the two limits a bow's shock
 * makes it a shot and its absence a let-down; without a channel that could show one it stays
 * unresolved. Cost: O(1).
 */
enum sh_fall_shock { SH_FALL_SHOCK_UNKNOWN, SH_FALL_SHOCK_ABSENT, SH_FALL_SHOCK_SEEN };
enum sh_shot_kind sh_fall_get_kind(const struct sh_fall *fall, enum sh_fall_shock shock);

#endif
