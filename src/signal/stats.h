/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SIGNAL_STATS_H
#define SH_SIGNAL_STATS_H

#include <stddef.h>

#include "base/status.h"

/*
 * Location and spread of a list of numbers. No heap, any thread. Outputs are written only on
 * SH_OK. SH_ERR_SHORT: too few numbers. SH_ERR_NOT_FINITE: one of them, or a sum, is infinite
 * or not a number. Test: tests/signal/test_stats.c.
 */

/* A standard deviation of normal data over their median absolute deviation: 1 / Phi^-1(3/4). */
#define SH_STATS_MAD_TO_SD 1.4826

/* What a list of numbers looks like; all in the unit of the numbers. */
struct sh_stats {
    double mean;
    double sd;        /* divisor n - 1 */
    double median;    /* mean of the two middle ones where n is even */
    double mad;       /* median of |x - median| */
    double robust_sd; /* SH_STATS_MAD_TO_SD mad */
    double min;
    double max;
};

/*
 * All of it for x[n], n >= 2. work[n] is the caller's, not x, and is overwritten.
 * SH_ERR_SHORT, SH_ERR_NOT_FINITE. Cost: O(n) on average.
 */
enum sh_status sh_stats_get(const double *x, size_t n, double *work, struct sh_stats *stats);

/*
 * Mean of x[n], n >= 1, and standard deviation (divisor n - 1), n >= 2; sd may be NULL.
 * Two passes, the second also correcting the mean and the sum of squares for rounding
 * (Chan, Golub & LeVeque 1983). SH_ERR_SHORT, SH_ERR_NOT_FINITE. Cost: O(n).
 */
enum sh_status sh_stats_get_mean(const double *x, size_t n, double *mean, double *sd);

/*
 * Coefficient of variation sd / |mean| of x[n], n >= 2, as a ratio. SH_ERR_SINGULAR: the mean
 * is 0. SH_ERR_SHORT, SH_ERR_NOT_FINITE. Cost: O(n).
 */
enum sh_status sh_stats_get_cv(const double *x, size_t n, double *cv_ratio);

/*
 * Robust counterpart: SH_STATS_MAD_TO_SD mad / |median|, n >= 2; work[n] as below.
 * SH_ERR_SINGULAR: the median is 0. SH_ERR_SHORT, SH_ERR_NOT_FINITE. Cost: O(n) on average.
 */
enum sh_status
sh_stats_get_robust_cv(const double *x, size_t n, double *work, double *cv_ratio);

/*
 * Correlation of x[n] with itself lag places on, lag < n: sum of products about the mean over
 * the sum of squares (Box & Jenkins 1976, 2.1.5). Near +-2 / sqrt(n) it is no more than chance.
 * SH_ERR_SHORT: n < 2 or lag >= n. SH_ERR_SINGULAR: all alike. SH_ERR_NOT_FINITE. Cost: O(n).
 */
enum sh_status
sh_stats_get_autocorrelation(const double *x, size_t n, size_t lag, double *correlation);

/*
 * Median of x[n], n >= 1, and median absolute deviation from it (mad may be NULL).
 * work[n] as above. SH_ERR_SHORT, SH_ERR_NOT_FINITE. Cost: O(n) on average.
 */
enum sh_status
sh_stats_get_median(const double *x, size_t n, double *work, double *median, double *mad);

/*
 * The quantile of share 0 .. 1 of x[n], n >= 1, by linear interpolation between the order
 * statistics at (n - 1) share: type 7 of Hyndman & Fan 1996, Am Stat 50:361. work[n] as above.
 * SH_ERR_ARGUMENT: share. SH_ERR_SHORT, SH_ERR_NOT_FINITE. Cost: O(n) on average.
 */
enum sh_status
sh_stats_get_quantile(const double *x, size_t n, double share, double *work, double *quantile);

/* Sorts x[n], all numbers finite, smallest first. Cost: O(n log n). */
void sh_stats_sort(double *x, size_t n);

/*
 * The k-th smallest, 0 <= k < n, of x[n], all finite; reorders x so that it stands at k with
 * none larger before it and none smaller behind (Hoare 1961, median of three).
 * Cost: O(n) on average, O(n^2) at worst.
 */
double sh_stats_select(double *x, size_t n, size_t k);

/* Median of x[n], n >= 1, all finite, which is reordered. Cost: O(n) on average. */
double sh_stats_select_median(double *x, size_t n);

#endif
