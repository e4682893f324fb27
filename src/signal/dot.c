/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/dot.h"

#define LANES 8u

double sh_dot_get(const double *a, const double *b, size_t n)
{
    double sum[LANES] = {0.0};
    size_t i = 0;
    for (; i + LANES <= n; i += LANES) {
        for (size_t k = 0; k < LANES; k++) {
            sum[k] += a[i + k] * b[i + k];
        }
    }
    for (size_t k = 0; i + k < n; k++) {
        sum[k] += a[i + k] * b[i + k];
    }
    return ((sum[0] + sum[4]) + (sum[2] + sum[6])) + ((sum[1] + sum[5]) + (sum[3] + sum[7]));
}

void sh_dot_add(double factor, const double *restrict x, double *restrict y, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        y[i] += factor * x[i];
    }
}
