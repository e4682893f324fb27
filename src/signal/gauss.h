/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SIGNAL_GAUSS_H
#define SH_SIGNAL_GAUSS_H

#include <stddef.h>

#include "base/status.h"

/*
 * Gaussian smoothing and smoothed slope of evenly sampled data.
 *
 * Value and slope at a sample are those of the straight line fitted around it by least squares
 * with Gaussian weights. Away from the ends this is the convolution with the Gaussian and with
 * its first derivative; at the ends, where one side is missing, the line goes on without
 * bending. Weights end at SH_GAUSS_REACH sigma; what is cut off is 5.8e-7 of the weight and
 * 1.6e-5 of its second moment. Weights are scaled after cutting, so constants and straight
 * lines pass exactly; on a sine the error against the unbounded kernel is at most 2e-5 of its
 * amplitude (slope: of amplitude / sigma).
 *
 * An open object is never changed by use: any number of threads may share it.
 */
struct sh_gauss;

#define SH_GAUSS_REACH     5.0
#define SH_GAUSS_SIGMA_MAX 1.0e5 /* samples */

/*
 * Opens a kernel. sigma: standard deviation in samples, 0.5 to SH_GAUSS_SIGMA_MAX.
 * Gives *out, to be closed. SH_ERR_ARGUMENT: out of range. SH_ERR_MEMORY.
 */
enum sh_status sh_gauss_open(double sigma, struct sh_gauss **out, struct sh_error *err);

/* Closes and sets *gauss to NULL; takes NULL and a pointer to NULL. */
void sh_gauss_close(struct sh_gauss **gauss);

/* Number of samples on each side that take part: floor(SH_GAUSS_REACH * sigma). */
size_t sh_gauss_get_radius(const struct sh_gauss *gauss);

/*
 * Smoothed value and slope at sample i of x[n], i < n. value and slope (unit of x a sample)
 * may each be NULL. n = 1 gives slope SH_ERR_SHORT. Only samples within the radius are looked
 * at; SH_ERR_NOT_FINITE if one of them is not finite. Cost: O(radius).
 * With x held in a sliding buffer this is the streaming form: the same bits as a whole pass,
 * as long as the buffer reaches a radius to both sides.
 * Test: tests/signal/test_gauss.c.
 */
enum sh_status sh_gauss_get_at(const struct sh_gauss *gauss,
                               const double *x,
                               size_t n,
                               size_t i,
                               double *value,
                               double *slope);

/*
 * Smooths the whole of x[n] into y[n] (not the same array).
 * SH_ERR_SHORT: n is 0. SH_ERR_NOT_FINITE. Cost: O(n radius).
 */
enum sh_status
sh_gauss_smooth(const struct sh_gauss *gauss, const double *x, size_t n, double *y);

/*
 * Smoothed slope of x[n] into slope[n] (not the same array), in units of x a second.
 * rate_hz: samples a second, above 0. SH_ERR_ARGUMENT: rate. SH_ERR_SHORT: n < 2.
 * SH_ERR_NOT_FINITE. Cost: O(n radius).
 */
enum sh_status sh_gauss_slope(
    const struct sh_gauss *gauss, const double *x, size_t n, double rate_hz, double *slope);

/*
 * Standard deviation of the smoothed slope (unit of x a second) and of the smoothed value for
 * white noise of standard deviation 1 in x, away from the ends.
 */
double sh_gauss_get_slope_noise(const struct sh_gauss *gauss, double rate_hz);
double sh_gauss_get_value_noise(const struct sh_gauss *gauss);

#endif
