/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SERIES_CLOCK_DRAW_H
#define SH_SERIES_CLOCK_DRAW_H

#include <stdbool.h>

#include "finding/analysis.h"

/*
 * Which clock each draw was under, which arrow of it, and what a let-down cost: from the
 * events and measures alone. Draws are under the same clock where it runs out at the same time
 * for both; one that was halted and goes on counts as another.
 */
struct sh_clock_draw {
    unsigned clock;            /* from 1; 0: under none */
    unsigned arrow;            /* shot under this clock, from 1; 0: the draw let no arrow go */
    struct sh_quantity cost_s; /* of a let-down: from its draw start to that of the next draw
                                  under this clock, s; unknown where there is none */
};

/*
 * Fills draws [analysis->n_shots]; gives the number of clocks. A draw is under a clock where
 * its time left is known at draw start, or else at release. Cost: O(shots). Any thread. Test:
 * tests/series/test_clock_draw.c.
 */
unsigned sh_clock_draw_find_all(const struct sh_analysis *analysis,
                                struct sh_clock_draw *draws);

#endif
