/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/cholesky.h"

#include <math.h>

#define PIVOT_SMALLEST 1e-14 /* of the diagonal element */

enum sh_status sh_cholesky_factor(double *a, size_t n)
{
    for (size_t j = 0; j < n; j++) {
        double pivot = a[j * n + j];
        for (size_t k = 0; k < j; k++) {
            pivot -= a[j * n + k] * a[j * n + k];
        }
        if (!(pivot > PIVOT_SMALLEST * a[j * n + j]) || !isfinite(pivot)) {
            return SH_ERR_SINGULAR;
        }
        double root = sqrt(pivot);
        a[j * n + j] = root;
        for (size_t i = j + 1; i < n; i++) {
            double sum = a[i * n + j];
            for (size_t k = 0; k < j; k++) {
                sum -= a[i * n + k] * a[j * n + k];
            }
            a[i * n + j] = sum / root;
        }
    }
    return SH_OK;
}

void sh_cholesky_solve(const double *l, size_t n, double *b)
{
    for (size_t i = 0; i < n; i++) {
        for (size_t k = 0; k < i; k++) {
            b[i] -= l[i * n + k] * b[k];
        }
        b[i] /= l[i * n + i];
    }
    for (size_t i = n; i-- > 0;) {
        for (size_t k = i + 1; k < n; k++) {
            b[i] -= l[k * n + i] * b[k];
        }
        b[i] /= l[i * n + i];
    }
}

void sh_cholesky_invert(const double *l, size_t n, double *inverse)
{
    for (size_t j = 0; j < n; j++) {
        double *row = inverse + j * n; /* the inverse is symmetric: rows serve as columns */
        for (size_t i = 0; i < n; i++) {
            row[i] = i == j ? 1.0 : 0.0;
        }
        sh_cholesky_solve(l, n, row);
    }
}
