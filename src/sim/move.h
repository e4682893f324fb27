/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SIM_MOVE_H
#define SH_SIM_MOVE_H

/*
 * Shapes of a movement in time, 0 to 1. Pure functions; threads may share them.
 * Test: tests/sim/test_move.c.
 */

/*
 * Share of a minimum-jerk movement (T. Flash and N. Hogan, 1985, J Neurosci 5:1688) done at
 * t_s: 0 up to begin_s, 1 from end_s on. Where end_s <= begin_s it is a step after begin_s.
 */
double sh_move_share(double t_s, double begin_s, double end_s);

/* A dip and back along a raised cosine: 0 at both ends and outside, 1 in the middle. */
double sh_move_dip(double t_s, double begin_s, double end_s);

#endif
