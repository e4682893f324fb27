/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SIGNAL_FINITE_H
#define SH_SIGNAL_FINITE_H

#include <math.h>
#include <stdbool.h>
#include <stddef.h>

/*
 * The gate at the entry of this stage: true where all of x[n] are finite numbers.
 * n may be 0 (true). Cost: one pass. Threads: any. Test: tests/signal/test_moving.c.
 */
static inline bool sh_finite_is_all(const double *x, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        if (!isfinite(x[i])) {
            return false;
        }
    }
    return true;
}

#endif
