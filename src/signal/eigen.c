/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/eigen.h"

#include <float.h>
#include <math.h>
#include <stdbool.h>

#include "signal/finite.h"

#define SWEEPS_MAX     60
#define STEPS_PER_ROOT 60
#define ODD_SHIFT_STEP 10 /* steps without success after which the shift is changed once */

static void rotate_rows(double *m, size_t n, size_t p, size_t q, double c, double s)
{
    for (size_t k = 0; k < n; k++) {
        double a = m[p * n + k];
        double b = m[q * n + k];
        m[p * n + k] = c * a - s * b;
        m[q * n + k] = s * a + c * b;
    }
}

static void rotate_columns(double *m, size_t n, size_t p, size_t q, double c, double s)
{
    for (size_t k = 0; k < n; k++) {
        double a = m[k * n + p];
        double b = m[k * n + q];
        m[k * n + p] = c * a - s * b;
        m[k * n + q] = s * a + c * b;
    }
}

/* Makes one pair of off-diagonal elements vanish; false where it has already. */
static bool rotate_pair(double *a, size_t n, size_t p, size_t q, double *vectors)
{
    double apq = a[p * n + q];
    double scale = sqrt(fabs(a[p * n + p] * a[q * n + q]));
    if (fabs(apq) <= 0.5 * DBL_EPSILON * scale || fabs(apq) < DBL_MIN) {
        return false;
    }
    double theta = (a[q * n + q] - a[p * n + p]) / (2.0 * apq);
    double t = (theta >= 0.0 ? 1.0 : -1.0) / (fabs(theta) + hypot(theta, 1.0));
    double c = 1.0 / hypot(t, 1.0);
    rotate_rows(a, n, p, q, c, t * c);
    rotate_columns(a, n, p, q, c, t * c);
    rotate_rows(vectors, n, p, q, c, t * c);
    return true;
}

/* One sweep over all pairs; false where nothing was left to rotate. */
static bool sweep(double *a, size_t n, double *vectors)
{
    bool has_rotated = false;
    for (size_t p = 0; p + 1 < n; p++) {
        for (size_t q = p + 1; q < n; q++) {
            has_rotated = rotate_pair(a, n, p, q, vectors) || has_rotated;
        }
    }
    return has_rotated;
}

static void sort_values(double *values, double *vectors, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        size_t top = i;
        for (size_t j = i + 1; j < n; j++) {
            top = values[j] > values[top] ? j : top;
        }
        double value = values[i];
        values[i] = values[top];
        values[top] = value;
        for (size_t k = 0; k < n; k++) {
            double v = vectors[i * n + k];
            vectors[i * n + k] = vectors[top * n + k];
            vectors[top * n + k] = v;
        }
    }
}

enum sh_status sh_eigen_symmetric(double *a, size_t n, double *values, double *vectors)
{
    if (!sh_finite_is_all(a, n * n)) {
        return SH_ERR_NOT_FINITE;
    }
    for (size_t i = 0; i < n * n; i++) {
        vectors[i] = i / n == i % n ? 1.0 : 0.0;
    }
    int n_sweeps = 0;
    while (sweep(a, n, vectors)) {
        if (++n_sweeps == SWEEPS_MAX) {
            return SH_ERR_SINGULAR;
        }
    }
    for (size_t i = 0; i < n; i++) {
        values[i] = a[i * n + i];
    }
    sort_values(values, vectors, n);
    return SH_OK;
}

/* A rotation [c s; -conj(s) c], c real, that takes (f, g) to (r, 0). */
struct givens {
    double c;
    double complex s;
};

static struct givens make_givens(double complex f, double complex g)
{
    double size = hypot(cabs(f), cabs(g));
    if (!(size > 0.0)) {
        return (struct givens){1.0, 0.0};
    }
    if (!(cabs(f) > 0.0)) {
        return (struct givens){0.0, conj(g) / cabs(g)};
    }
    return (struct givens){cabs(f) / size, f / cabs(f) * conj(g) / size};
}

static void
rotate_two_rows(double complex *a, size_t n, size_t i, size_t first, struct givens r)
{
    for (size_t k = first; k < n; k++) {
        double complex x = a[i * n + k];
        double complex y = a[(i + 1) * n + k];
        a[i * n + k] = r.c * x + r.s * y;
        a[(i + 1) * n + k] = r.c * y - conj(r.s) * x;
    }
}

static void
rotate_two_columns(double complex *a, size_t n, size_t i, size_t end, struct givens r)
{
    for (size_t k = 0; k < end; k++) {
        double complex x = a[k * n + i];
        double complex y = a[k * n + i + 1];
        a[k * n + i] = r.c * x + conj(r.s) * y;
        a[k * n + i + 1] = r.c * y - r.s * x;
    }
}

/* Zeros below the first subdiagonal by rotations of neighbouring rows and columns. */
static void reduce_to_hessenberg(double complex *a, size_t n)
{
    for (size_t j = 0; j + 2 < n; j++) {
        for (size_t i = n - 1; i >= j + 2; i--) {
            struct givens r = make_givens(a[(i - 1) * n + j], a[i * n + j]);
            rotate_two_rows(a, n, i - 1, j, r);
            rotate_two_columns(a, n, i - 1, n, r);
            a[i * n + j] = 0.0;
        }
    }
}

/* The eigenvalue of the last 2 x 2 block of the first end rows nearer to its corner. */
static double complex get_shift(const double complex *a, size_t n, size_t end)
{
    double complex p = a[(end - 2) * n + end - 2];
    double complex d = a[(end - 1) * n + end - 1];
    double complex bc = a[(end - 2) * n + end - 1] * a[(end - 1) * n + end - 2];
    double complex half = 0.5 * (p - d);
    double complex root = csqrt(half * half + bc);
    double complex sum = cabs(half + root) > cabs(half - root) ? half + root : half - root;
    return cabs(sum) > 0.0 ? d - bc / sum : d;
}

/* One shifted QR step on rows and columns first .. end - 1. */
static void qr_step(double complex *a, size_t n, size_t first, size_t end, double complex shift)
{
    double complex x = a[first * n + first] - shift;
    double complex y = a[(first + 1) * n + first];
    for (size_t i = first; i + 1 < end; i++) {
        struct givens r = make_givens(x, y);
        rotate_two_rows(a, n, i, i > first ? i - 1 : first, r);
        rotate_two_columns(a, n, i, i + 3 < end ? i + 3 : end, r);
        if (i > first) {
            a[(i + 1) * n + i - 1] = 0.0;
        }
        if (i + 2 < end) {
            x = a[(i + 1) * n + i];
            y = a[(i + 2) * n + i];
        }
    }
}

/* First row of the block that ends before end and does not split. */
static size_t find_block(const double complex *a, size_t n, size_t end)
{
    size_t first = end - 1;
    while (first > 0) {
        double beside = cabs(a[(first - 1) * n + first - 1]) + cabs(a[first * n + first]);
        if (cabs(a[first * n + first - 1]) <= DBL_EPSILON * beside) {
            break;
        }
        first--;
    }
    return first;
}

enum sh_status sh_eigen_general(double complex *a, size_t n, double complex *values)
{
    for (size_t i = 0; i < n * n; i++) {
        if (!isfinite(creal(a[i])) || !isfinite(cimag(a[i]))) {
            return SH_ERR_NOT_FINITE;
        }
    }
    reduce_to_hessenberg(a, n);
    size_t end = n;
    size_t n_steps = 0;
    while (end > 0) {
        size_t first = find_block(a, n, end);
        if (first == end - 1) {
            values[first] = a[first * n + first];
            end--;
            n_steps = 0;
            continue;
        }
        if (++n_steps > STEPS_PER_ROOT) {
            return SH_ERR_SINGULAR;
        }
        double complex shift = get_shift(a, n, end);
        if (n_steps % ODD_SHIFT_STEP == 0) {
            shift += cabs(a[(end - 1) * n + end - 2]);
        }
        qr_step(a, n, first, end, shift);
    }
    return SH_OK;
}
