/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SHOT_MATCH_H
#define SH_SHOT_MATCH_H

#include <stddef.h>

/*
 * How alike two shapes are, and how much of one is where: correlation of short pieces over
 * several axes. Any thread, no heap. Test: tests/shot/test_match.c.
 */
struct sh_match {
    size_t n_axes;
    size_t n_frames; /* of a shape, each axis: shape is [n_axes][n_frames] */
    size_t lag_max;  /* frames, below n_frames */
};

/*
 * The largest correlation (-1 .. 1) of other with shape, other moved by up to lag_max whole
 * frames;
 * *lag: to a fraction of a frame, above 0 where other comes later. What is moved out of the
 * piece counts as 0. 0 where one of them is all zero. Cost: O(lag_max n_frames n_axes).
 */
double sh_match_align(const struct sh_match *match,
                      const double *shape,
                      const double *other,
                      double *lag);

/* How much of shape (of length 1) is in other, moved by lag. */
double sh_match_get_amount(const struct sh_match *match,
                           const double *shape,
                           const double *other,
                           double lag);

/* Adds factor times other, moved back by lag (straight between frames), to sum. */
void sh_match_add_shifted(
    const struct sh_match *match, const double *other, double lag, double factor, double *sum);

/*
 * Adds to amount[i] how much of one axis of a shape begins at x[i]; x[n], beyond its end 0.
 * Cost: O(n n_frames).
 */
void sh_match_filter(const struct sh_match *match,
                     const double *axis,
                     const double *x,
                     size_t n,
                     double *amount);

/* Place of a peak, to a fraction, by the parabola through it and its neighbours. */
double sh_match_get_top(const double *x, size_t n, size_t peak);

/* Root of the sum of squares of a shape's slope, per frame: how well it tells its own place. */
double sh_match_get_bend(const struct sh_match *match, const double *shape);

#endif
