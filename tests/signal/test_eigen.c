/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/eigen.h"

#include <math.h>
#include <string.h>

#include "base/units.h"
#include "support/cmocka_all.h"
#include "support/near.h"
#include "test_noise.h"

#define N_MAX 24u

/* The second-difference matrix: eigenvalues 2 - 2 cos(k pi / (n + 1)). */
static void check_second_difference(size_t n)
{
    double a[N_MAX * N_MAX] = {0.0};
    double values[N_MAX];
    double vectors[N_MAX * N_MAX];
    for (size_t i = 0; i < n; i++) {
        a[i * n + i] = 2.0;
    }
    for (size_t i = 0; i + 1 < n; i++) {
        a[i * n + i + 1] = -1.0;
        a[(i + 1) * n + i] = -1.0;
    }
    assert_int_equal(sh_eigen_symmetric(a, n, values, vectors), SH_OK);
    for (size_t k = 0; k < n; k++) {
        double angle = SH_PI * (double)(n - k) / (double)(n + 1);
        assert_near(values[k], 2.0 - 2.0 * cos(angle), 1e-13, 0.0);
    }
}

static void test_symmetric_known(void **state)
{
    for (size_t n = 1; n <= N_MAX; n++) {
        check_second_difference(n);
    }
}

/* a v = value v. */
static void check_vector(const double *a, size_t n, const double *v, double value)
{
    for (size_t i = 0; i < n; i++) {
        double sum = 0.0;
        for (size_t j = 0; j < n; j++) {
            sum += a[i * n + j] * v[j];
        }
        assert_near(sum, value * v[i], 1e-13, 0.0);
    }
}

static void test_symmetric_vectors(void **state)
{
    uint64_t seed = 24;
    double a[N_MAX * N_MAX];
    double kept[N_MAX * N_MAX];
    double values[N_MAX];
    double vectors[N_MAX * N_MAX];
    for (size_t i = 0; i < N_MAX; i++) {
        for (size_t j = 0; j <= i; j++) {
            a[i * N_MAX + j] = noise_normal(&seed);
            a[j * N_MAX + i] = a[i * N_MAX + j];
        }
    }
    memcpy(kept, a, sizeof(a));
    assert_int_equal(sh_eigen_symmetric(a, N_MAX, values, vectors), SH_OK);
    for (size_t k = 0; k < N_MAX; k++) {
        assert_true(k == 0 || values[k] <= values[k - 1]);
        check_vector(kept, N_MAX, vectors + k * N_MAX, values[k]);
    }
}

/* The cyclic shift: all n-th roots of 1. */
static void check_roots(size_t n)
{
    double complex a[256] = {0.0};
    double complex values[16];
    for (size_t i = 0; i < n; i++) {
        a[i * n + (i + 1) % n] = 1.0;
    }
    assert_int_equal(sh_eigen_general(a, n, values), SH_OK);
    for (size_t k = 0; k < n; k++) {
        double complex power = cpow(values[k], (double)n);
        assert_near(creal(power), 1.0, 1e-12, 0.0);
        assert_near(cimag(power), 0.0, 1e-12, 0.0);
        for (size_t j = 0; j < k; j++) {
            assert_true(cabs(values[k] - values[j]) > 0.3);
        }
    }
}

static void test_roots_of_unity(void **state)
{
    for (size_t n = 1; n <= 16; n++) {
        check_roots(n);
    }
}

/* Sums of powers of the eigenvalues are traces of powers of a random complex matrix. */
static void test_traces(void **state)
{
    uint64_t seed = 25;
    const size_t n = 12;
    double complex a[144];
    double complex kept[144];
    double complex values[12];
    for (size_t i = 0; i < n * n; i++) {
        a[i] = noise_normal(&seed) + (double complex)I * noise_normal(&seed);
    }
    memcpy(kept, a, sizeof(a));
    assert_int_equal(sh_eigen_general(a, n, values), SH_OK);
    double complex first = 0.0;
    double complex second = 0.0;
    for (size_t i = 0; i < n; i++) {
        first += values[i] - kept[i * n + i];
        second += values[i] * values[i];
        for (size_t j = 0; j < n; j++) {
            second -= kept[i * n + j] * kept[j * n + i];
        }
    }
    assert_near(cabs(first), 0.0, 1e-12, 0.0);
    assert_near(cabs(second), 0.0, 1e-11, 0.0);
}

static void test_refusals(void **state)
{
    double a[4] = {1.0, (double)NAN, 0.0, 1.0};
    double values[2];
    double vectors[4];
    double complex b[1] = {(double)INFINITY};
    double complex root[1];
    assert_int_equal(sh_eigen_symmetric(a, 2, values, vectors), SH_ERR_NOT_FINITE);
    assert_int_equal(sh_eigen_general(b, 1, root), SH_ERR_NOT_FINITE);
    b[0] = 3.0;
    assert_int_equal(sh_eigen_general(b, 1, root), SH_OK);
    assert_near(creal(root[0]), 3.0, 0.0, 0.0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_symmetric_known), cmocka_unit_test(test_symmetric_vectors),
        cmocka_unit_test(test_roots_of_unity),  cmocka_unit_test(test_traces),
        cmocka_unit_test(test_refusals),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
