/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SIGNAL_BAND_LIMITED_H
#define SH_SIGNAL_BAND_LIMITED_H

#include <stddef.h>

/*
 * A series between its samples: the sum of samples times sinc under a Kaiser window of shape 6
 * that reaches SH_BAND_LIMITED_REACH samples to either side (Shannon 1949, Proc IRE 37:10;
 * Kaiser & Schafer 1980, IEEE Trans ASSP 28:105), the weights made to sum to 1. A tone of up to
 * 0.4 of the rate comes out within 0.2 % of its amplitude. Beyond its ends the series counts as
 * 0. x: [n], finite; index: place, with its fraction. Cost: 2 SH_BAND_LIMITED_REACH sines and
 * window values. Any thread. Test: tests/signal/test_band_limited.c.
 */
double sh_band_limited_get(const double *x, size_t n, double index);

#define SH_BAND_LIMITED_REACH 16

#endif
