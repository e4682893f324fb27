/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/holm.h"

#include <math.h>

#include "signal/finite.h"

/* The places of p[n] from the smallest on; alike ones keep their order. */
static void sort_places(const double *p, size_t n, size_t *order)
{
    for (size_t i = 0; i < n; i++) {
        size_t place = i;
        while (place > 0 && p[order[place - 1]] > p[i]) {
            order[place] = order[place - 1];
            place--;
        }
        order[place] = i;
    }
}

enum sh_status sh_holm_adjust(const double *p, size_t n, size_t *order, double *adjusted)
{
    if (!sh_finite_is_all(p, n)) {
        return SH_ERR_NOT_FINITE;
    }
    for (size_t i = 0; i < n; i++) {
        if (p[i] < 0.0 || p[i] > 1.0) {
            return SH_ERR_ARGUMENT;
        }
    }
    sort_places(p, n, order);
    double least = 0.0;
    for (size_t i = 0; i < n; i++) {
        const double times = (double)(n - i) * p[order[i]];
        least = fmin(fmax(least, times), 1.0);
        adjusted[order[i]] = least;
    }
    return SH_OK;
}
