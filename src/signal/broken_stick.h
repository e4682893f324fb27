/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SIGNAL_BROKEN_STICK_H
#define SH_SIGNAL_BROKEN_STICK_H

#include <stdbool.h>
#include <stddef.h>

#include "base/status.h"

/*
 * Two straight lines that meet at an unknown break, by least squares: where a force stops
 * rising, or begins to give way. The break that leaves the least squares is found exactly, not
 * by search: for a break between two points the squares taken off are a ratio of polynomials in
 * it, whose one turning point is known (after Hudson 1966, J Am Stat Assoc 61:1097).
 * No heap, any thread. Tests: tests/signal/test_broken_stick.c;
 * tests/reference/test_reference_robust.c against NumPy and R.
 */

struct sh_broken_stick_points {
    const double *x; /* [n], not falling; at least two different on either side of a break */
    const double *y; /* [n] */
    size_t n;        /* 5 or more */
};

struct sh_broken_stick {
    double break_x;
    double break_y; /* of both lines there */
    /* standard error, linearised about the fit: a sixth too small where the bend is faint */
    double break_u;
    double break_lo; /* limits at the level asked: see below */
    double break_hi;
    double slope_before;
    double slope_before_u;
    double slope_after;
    double slope_after_u;
    double residual_squares;
    double residual_sd;      /* n - 4 degrees of freedom */
    double straight_squares; /* residual squares of one straight line */
    /*
     * chance of so much better a fit by some break where there is none (normal errors): the
     * volume of a tube about the path of all breaks' directions, an upper bound (Knowles &
     * Siegmund 1989, Int Stat Rev 57:205)
     */
    double p;
    /* the limits reach an end of the range searched: the data do not bound the break there */
    bool is_open_lo;
    bool is_open_hi;
};

/*
 * Fits. The break lies between the second different x from the start and from the end. Limits
 * are the outermost breaks whose residual squares are within residual variance times F(level;
 * 1, n - 4) of the least (likelihood-ratio limits, Seber & Wild 2003, Nonlinear
 * Regression, 9.3.3); there may be worse ones between. Where the lines of both sides are one,
 * break_u is large and the limits open. level: 0 .. 1. SH_ERR_ARGUMENT: level, or x falls.
 * SH_ERR_SHORT: n < 5 or fewer than 4 different x. SH_ERR_NOT_FINITE. SH_ERR_SINGULAR: the
 * points cannot tell. Cost: O(n). Needs no workspace.
 */
enum sh_status sh_broken_stick_fit(const struct sh_broken_stick_points *points,
                                   double level,
                                   struct sh_broken_stick *stick);

#endif
