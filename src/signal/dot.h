/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SIGNAL_DOT_H
#define SH_SIGNAL_DOT_H

#include <stddef.h>

/*
 * Sum of a[i] b[i] over i < n, in eight partial sums (i modulo 8) that are added in a fixed
 * order at the end: the same bits everywhere, and no addition waits for the one before it.
 * n may be 0 (the sum is 0). Cost: O(n). Threads: any. Test: tests/signal/test_dot.c.
 */
double sh_dot_get(const double *a, const double *b, size_t n);

/* y[i] += factor x[i] for i < n; x is not y. Cost: O(n). Threads: any. */
void sh_dot_add(double factor, const double *x, double *y, size_t n);

#endif
