/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/cholesky.h"

#include <math.h>

#define PIVOT_SMALLEST 1e-14 /* of the diagonal element */

static double multiply(const double *a, const double *b, size_t n)
{
    double sum = 0.0;
    for (size_t i = 0; i < n; i++) {
        sum += a[i] * b[i];
    }
    return sum;
}

enum sh_status sh_cholesky_factor(double *a, size_t n)
{
    for (size_t j = 0; j < n; j++) {
        double *row = a + j * n;
        double pivot = row[j] - multiply(row, row, j);
        if (!(pivot > PIVOT_SMALLEST * row[j]) || !isfinite(pivot)) {
            return SH_ERR_SINGULAR;
        }
        row[j] = sqrt(pivot);
        for (size_t i = j + 1; i < n; i++) {
            a[i * n + j] = (a[i * n + j] - multiply(a + i * n, row, j)) / row[j];
        }
    }
    return SH_OK;
}

void sh_cholesky_add_row(const double *row, double y, size_t n, double *normal, double *right)
{
    for (size_t a = 0; a < n; a++) {
        right[a] += row[a] * y;
        for (size_t b = 0; b <= a; b++) {
            normal[a * n + b] += row[a] * row[b];
        }
    }
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
