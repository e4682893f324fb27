/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SIGNAL_MOVING_H
#define SH_SIGNAL_MOVING_H

#include <stddef.h>

#include "base/status.h"

/*
 * Means over moving windows, and what depends on a running maximum. All functions may run in
 * any thread. Test of all: tests/signal/test_moving.c.
 */

/*
 * Number of samples of a window of window_s seconds at rate_hz: the product rounded to the
 * nearest whole number (halves away from zero), at least 1. The window really used is therefore
 * within half a sample of the one asked for. 0 where an argument is not finite or not positive,
 * or where the window would exceed 2^31 samples.
 */
size_t sh_moving_window(double window_s, double rate_hz);

/*
 * Prefix sums of x[n] less x[0]: sums[0] = 0, sums[i] = sum of x[j] - x[0] over j < i, each
 * with Neumaier's compensation (1974, ZAMM 54:39), so that the error of each is about one
 * rounding of its own size and does not grow with n. sums: [n + 1].
 * SH_ERR_SHORT: n is 0. SH_ERR_NOT_FINITE: sums untouched. Cost: O(n).
 */
enum sh_status sh_moving_sums(const double *x, size_t n, double *sums);

/*
 * Mean of x[first] .. x[first + n_window - 1] out of sums made by sh_moving_sums of the same x.
 * n_window at least 1, first + n_window at most n: the caller guarantees it. Cost: O(1).
 */
double sh_moving_sums_mean(const double *sums, double x0, size_t first, size_t n_window);

/*
 * Means over whole windows only: mean[i] = mean of x[i] .. x[i + n_window - 1], which belongs
 * to the time of sample i + (n_window - 1) / 2 (a half-sample where n_window is even).
 * x: [n]; mean: [n - n_window + 1], not the same array as x.
 * SH_ERR_ARGUMENT: n_window is 0. SH_ERR_SHORT: n < n_window. SH_ERR_NOT_FINITE.
 * Cost: O(n); running compensated sums as in sh_moving_sums.
 */
enum sh_status sh_moving_mean(const double *x, size_t n, size_t n_window, double *mean);

/*
 * Largest value so far: maximum[i] = max of x[0] .. x[i]. May be the same array as x.
 * SH_ERR_SHORT: n is 0. SH_ERR_NOT_FINITE. Cost: O(n).
 */
enum sh_status sh_moving_maximum(const double *x, size_t n, double *maximum);

/* The largest fall of a series below its own running maximum. */
struct sh_moving_fall {
    double fall;     /* x[i_top] - x[i_bottom], 0 where the series never falls */
    size_t i_top;    /* first place of the maximum it fell from */
    size_t i_bottom; /* where the fall is largest (first of equals); i_top where fall is 0 */
};

/* Finds that fall in x[n]. SH_ERR_SHORT: n is 0. SH_ERR_NOT_FINITE. Cost: O(n). */
enum sh_status sh_moving_find_fall(const double *x, size_t n, struct sh_moving_fall *out);

#endif
