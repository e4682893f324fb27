/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SIGNAL_LOG_GAMMA_H
#define SH_SIGNAL_LOG_GAMMA_H

#include <math.h>

/*
 * Natural logarithm of the gamma function of x > 0. The C library's lgamma writes a global
 * sign, which threads would race for; lgamma_r does not. Threads: any.
 * Test: tests/signal/test_distribution.c and test_chi_square.c, through those who use it.
 */
static inline double sh_log_gamma_get(double x)
{
    int sign = 0;
    return lgamma_r(x, &sign);
}

#endif
