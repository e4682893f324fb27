/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/savgol.h"

#include <math.h>

#include "support/cmocka_all.h"
#include "support/near.h"

/* The classic quadratic weights over five points: (-3 12 17 12 -3) / 35. */
static void test_classic_weights(void **state)
{
    const double expected[5] = {-3.0, 12.0, 17.0, 12.0, -3.0};
    const struct sh_savgol_config config = {5, 2, 0};
    double weights[5];
    assert_int_equal(sh_savgol_make(&config, 2.0, weights), SH_OK);
    for (size_t i = 0; i < 5; i++) {
        assert_near(weights[i], expected[i] / 35.0, 1e-15, 0.0);
    }
    const struct sh_savgol_config slope = {4, 1, 1}; /* even: (-3 -1 1 3) / 10 */
    assert_int_equal(sh_savgol_make(&slope, 1.5, weights), SH_OK);
    for (size_t i = 0; i < 4; i++) {
        assert_near(weights[i], (2.0 * (double)i - 3.0) / 10.0, 1e-15, 0.0);
    }
}

/* t^order over t = i / n, and its derivative at a position. */
static void check_power(size_t order, size_t derivative, double share)
{
    const size_t n = 2 * order + 9;
    const struct sh_savgol_config config = {n, order, derivative};
    double weights[64];
    double sum = 0.0;
    double expected = 1.0;
    double position = share * (double)(n - 1);
    assert_int_equal(sh_savgol_make(&config, position, weights), SH_OK);
    for (size_t i = 0; i < n; i++) {
        sum += weights[i] * pow((double)i / (double)n, (double)order);
    }
    for (size_t d = 0; d < derivative; d++) {
        expected *= (double)(order - d) / (double)n;
    }
    expected *= pow(position / (double)n, (double)(order - derivative));
    assert_near(sum, expected, 1e-9, 1e-9);
}

/* A polynomial of the order passes with all its derivatives, at any position. */
static void test_polynomials_pass(void **state)
{
    for (size_t order = 0; order <= 12; order += 3) {
        for (size_t derivative = 0; derivative <= order && derivative <= 3; derivative++) {
            check_power(order, derivative, 0.0);
            check_power(order, derivative, 0.31);
            check_power(order, derivative, 1.0);
        }
    }
}

static void test_series(void **state)
{
    double x[30];
    double y[30];
    double work[7];
    for (size_t i = 0; i < 30; i++) {
        double t = (double)i / 100.0;
        x[i] = 1.0 + 2.0 * t + 30.0 * t * t;
    }
    const struct sh_savgol_config config = {7, 2, 1};
    const struct sh_savgol_series series = {x, 30, 100.0};
    assert_int_equal(sh_savgol_filter(&config, &series, work, y), SH_OK);
    for (size_t i = 0; i < 30; i++) {
        assert_near(y[i], 2.0 + 60.0 * (double)i / 100.0, 1e-10, 0.0);
    }
}

static void test_refusals(void **state)
{
    double weights[8];
    double x[8] = {0.0};
    double y[8];
    const struct sh_savgol_config bad[] = {{2, 2, 0},
                                           {0, 0, 0},
                                           {5, 2, 3},
                                           {40, SH_SAVGOL_ORDER_MAX + 1, 0},
                                           {SH_SAVGOL_WINDOW_MAX + 1, 2, 0}};
    for (size_t i = 0; i < sizeof(bad) / sizeof(bad[0]); i++) {
        assert_int_equal(sh_savgol_make(&bad[i], 0.0, weights), SH_ERR_ARGUMENT);
    }
    const struct sh_savgol_config good = {5, 2, 0};
    assert_int_equal(sh_savgol_make(&good, -0.1, weights), SH_ERR_ARGUMENT);
    assert_int_equal(sh_savgol_make(&good, 4.1, weights), SH_ERR_ARGUMENT);
    assert_int_equal(sh_savgol_make(&good, (double)NAN, weights), SH_ERR_ARGUMENT);
    assert_int_equal(sh_savgol_make(&good, 4.0, weights), SH_OK);
    struct sh_savgol_series series = {x, 5, 0.0};
    assert_int_equal(sh_savgol_filter(&good, &series, weights, y), SH_ERR_ARGUMENT);
    series.rate_hz = 1.0;
    assert_int_equal(sh_savgol_filter(&good, &series, weights, y), SH_OK);
    series.n = 4;
    assert_int_equal(sh_savgol_filter(&good, &series, weights, y), SH_ERR_SHORT);
    const struct sh_savgol_config even = {4, 2, 0};
    assert_int_equal(sh_savgol_filter(&even, &series, weights, y), SH_ERR_ARGUMENT);
    series.n = 8;
    x[7] = (double)NAN;
    assert_int_equal(sh_savgol_filter(&good, &series, weights, y), SH_ERR_NOT_FINITE);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_classic_weights),
        cmocka_unit_test(test_polynomials_pass),
        cmocka_unit_test(test_series),
        cmocka_unit_test(test_refusals),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
