/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SIGNAL_DETREND_H
#define SH_SIGNAL_DETREND_H

#include <stdbool.h>
#include <stddef.h>

#include "base/status.h"

/*
 * Takes the least-squares straight line (or the mean) of the samples present off x[n], into
 * y[n] (may be the same array); absent samples of y become 0. present: [n], or NULL: all there.
 * SH_ERR_SHORT: fewer than 2 samples present (1 for the mean). SH_ERR_NOT_FINITE: a present
 * sample is not finite; y untouched. Cost: O(n). Threads: any.
 * Test: tests/signal/test_detrend.c.
 */
enum sh_status sh_detrend_line(const double *x, const bool *present, size_t n, double *y);
enum sh_status sh_detrend_mean(const double *x, const bool *present, size_t n, double *y);

#endif
