/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/band_limited.h"

#include <math.h>

#include "base/units.h"

#define SHAPE   6.0
#define N_TERMS 20 /* of the Bessel function's series: (3^20 / 20!)^2 is below 1e-17 */
#define NEAREST 1e-9

/* Modified Bessel function of order 0. */
static double get_bessel(double x)
{
    double sum = 1.0;
    double term = 1.0;
    for (int k = 1; k <= N_TERMS; k++) {
        term *= 0.5 * x / (double)k;
        sum += term * term;
    }
    return sum;
}

static double get_weight(double off)
{
    const double share = off / (double)(SH_BAND_LIMITED_REACH + 1);
    const double window = get_bessel(SHAPE * sqrt(fmax(1.0 - share * share, 0.0)));
    return fabs(off) < NEAREST ? window : window * sin(SH_PI * off) / (SH_PI * off);
}

double sh_band_limited_get(const double *x, size_t n, double index)
{
    const double base = floor(index);
    double sum = 0.0;
    double weights = 0.0;
    for (int k = 1 - SH_BAND_LIMITED_REACH; k <= SH_BAND_LIMITED_REACH; k++) {
        const double at = base + (double)k;
        const double weight = get_weight(index - at);
        weights += weight;
        if (at >= 0.0 && at < (double)n) {
            sum += weight * x[(size_t)at];
        }
    }
    return sum / weights;
}
