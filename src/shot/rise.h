/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SHOT_RISE_H
#define SH_SHOT_RISE_H

#include <stddef.h>

#include "base/quantity.h"
#include "shot/fall.h"
#include "shot/pull.h"

/*
 * Draw start and full draw of one draw, from the rate of its force: docs/definitions.md,
 * "Events". "This draw" begins where the force last stood at rest (SH_RISE_REST_RATIO of its
 * largest) before the main rise; a preload belongs to it.
 */
#define SH_RISE_LOW_RATIO  0.25
#define SH_RISE_HIGH_RATIO 0.85
#define SH_RISE_SLOW_RATIO 0.1
#define SH_RISE_REST_RATIO 0.02

struct sh_rise {
    size_t low;                    /* last average under 25 % of the draw's largest force */
    size_t high;                   /* first one over 85 % after that */
    size_t first_slope;            /* the average that pull's first rate belongs to */
    double largest_n;              /* of this draw */
    double rate_max_n_per_s;       /* largest rate of this draw */
    struct sh_quantity draw_start; /* frames of the force, with its fraction */
    struct sh_quantity full_draw;
};

/*
 * Finds both in the averages first .. of the pull's force, before the fall. An instant that is
 * not there is unknown: SH_WHY_TOO_SHORT (the samples begin too late), SH_WHY_NOT_SEEN (the
 * rate never slows down before the string leaves). Where a preload stands at just 25 % of the
 * largest force, the main rise begins in it, at a low rate: that crossing is the draw start.
 * Uncertainty: that of the rate and of its level through the rate's slope, and the sampling
 * step; with a preload within its noise of 25 %, an interval that holds the starts of all
 * places at which the main rise may begin.
 * Changes pull's slopes. Any thread. Cost: O(n 250). Test: tests/shot/test_rise.c.
 */
void sh_rise_find(struct sh_pull *pull,
                  size_t first,
                  const struct sh_fall *fall,
                  struct sh_rise *out);

/*
 * Takes back what a sensor at the end of its range does not show; rise is that of the last
 * sh_rise_find on pull, full the first average of the draw at that end. The largest force is
 * then unknown, taken to be up to twice what was seen. The draw start is unknown
 * (SH_WHY_CLIPPED) where that moves it by over 0.1 s (a preload or a pause); where the range
 * ended before the rate had gone down to half its largest, its interval reaches to where 1.5
 * times the rate seen would put it. The full draw is unknown: it may as well have been a pause.
 * Any thread. Cost: O(n). Test: tests/shot/test_rise.c.
 */
void sh_rise_doubt(const struct sh_pull *pull, size_t full, struct sh_rise *rise);

/*
 * The last average before `before` (and not before first) whose force is under level_n; first
 * where there is none. Any thread. Cost: O(n).
 */
size_t
sh_rise_find_low(const struct sh_pull *pull, size_t first, size_t before, double level_n);

#endif
