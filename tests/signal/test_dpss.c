/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/dpss.h"

#include <math.h>
#include <stdlib.h>

#include "base/units.h"
#include "support/cmocka_all.h"
#include "support/near.h"

static double multiply(const double *a, const double *b, size_t n)
{
    double sum = 0.0;
    for (size_t i = 0; i < n; i++) {
        sum += a[i] * b[i];
    }
    return sum;
}

/* Row i of the sine kernel against v. */
static double apply_kernel(const double *v, size_t n, double w, size_t i)
{
    double sum = 0.0;
    for (size_t j = 0; j < n; j++) {
        double d = (double)j - (double)i;
        sum += v[j] * (i == j ? 2.0 * w : sin(2.0 * SH_PI * w * d) / (SH_PI * d));
    }
    return sum;
}

/* Orthonormal, even and odd in turn, and eigenvectors of the sine kernel itself. */
static void check_taper(const double *v, size_t n, double w, size_t a, double concentration)
{
    const double *va = v + a * n;
    double sign = a % 2 == 0 ? 1.0 : -1.0;
    for (size_t b = 0; b <= a; b++) {
        assert_near(multiply(va, v + b * n, n), a == b ? 1.0 : 0.0, 2e-12, 0.0);
    }
    for (size_t i = 0; i < n; i++) {
        assert_near(va[n - 1 - i], sign * va[i], 1e-15, 0.0);
        assert_near(apply_kernel(va, n, w, i), concentration * va[i], 2e-12, 0.0);
    }
}

static void check_tapers(size_t n, double nw, size_t k)
{
    const struct sh_dpss_config config = {n, nw, k};
    double *v = calloc(n * k, sizeof(*v));
    double *concentration = calloc(k, sizeof(*concentration));
    assert_non_null(v);
    assert_non_null(concentration);
    assert_int_equal(sh_dpss_make(&config, v, concentration), SH_OK);
    for (size_t a = 0; a < k; a++) {
        check_taper(v, n, nw / (double)n, a, concentration[a]);
        assert_true(a == 0 || concentration[a] < concentration[a - 1] + 1e-13);
    }
    free(v);
    free(concentration);
}

static void test_sine_kernel(void **state)
{
    check_tapers(2, 0.5, 2);
    check_tapers(3, 1.0, 3);
    check_tapers(7, 2.0, 4);
    check_tapers(8, 2.0, 4);
    check_tapers(15, 3.5, 6);
    check_tapers(100, 2.0, 4);
    check_tapers(401, 4.0, 7);
    check_tapers(500, 20.0, 39);
}

/* Long ones stay orthonormal; concentrations of the same NW approach one another. */
static void test_long(void **state)
{
    const struct sh_dpss_config config = {65537, 3.0, 5};
    double *v = calloc(config.n * config.k, sizeof(*v));
    double concentration[5];
    double shorter[5];
    assert_non_null(v);
    assert_int_equal(sh_dpss_make(&config, v, concentration), SH_OK);
    for (size_t a = 0; a < 5; a++) {
        for (size_t b = 0; b <= a; b++) {
            double product = multiply(v + a * config.n, v + b * config.n, config.n);
            assert_near(product, a == b ? 1.0 : 0.0, 1e-10, 0.0);
        }
    }
    const struct sh_dpss_config half = {32768, 3.0, 5};
    assert_int_equal(sh_dpss_make(&half, v, shorter), SH_OK);
    for (size_t a = 0; a < 5; a++) {
        assert_near(concentration[a], shorter[a], 1e-8, 0.0);
    }
    free(v);
}

static void test_refusals(void **state)
{
    double v[64];
    const struct sh_dpss_config bad[] = {
        {1, 0.3, 1},  {8, 0.0, 1},         {8, 4.0, 1},
        {8, -1.0, 1}, {8, (double)NAN, 1}, {8, 2.0, 0},
        {8, 2.0, 9},  {200, 65.0, 1},      {SH_DPSS_LENGTH_MAX + 1, 2.0, 1}};
    for (size_t i = 0; i < sizeof(bad) / sizeof(bad[0]); i++) {
        assert_int_equal(sh_dpss_make(&bad[i], v, NULL), SH_ERR_ARGUMENT);
    }
    const struct sh_dpss_config good = {8, 3.9, 8};
    assert_int_equal(sh_dpss_make(&good, v, NULL), SH_OK);
    const struct sh_dpss_config many = {1000, 60.0, SH_DPSS_TAPERS_MAX + 1};
    assert_int_equal(sh_dpss_make(&many, v, NULL), SH_ERR_ARGUMENT);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_sine_kernel),
        cmocka_unit_test(test_long),
        cmocka_unit_test(test_refusals),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
