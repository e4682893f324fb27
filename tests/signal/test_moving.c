/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/moving.h"

#include <math.h>

#include "signal/finite.h"
#include "support/cmocka_all.h"
#include "support/near.h"
#include "test_noise.h"

static void test_finite(void **state)
{
    const double x[4] = {1.0, -(double)INFINITY, (double)NAN, 2.0};
    assert_true(sh_finite_is_all(x, 0));
    assert_true(sh_finite_is_all(x, 1));
    assert_false(sh_finite_is_all(x, 2));
    assert_false(sh_finite_is_all(x + 2, 1));
    assert_true(sh_finite_is_all(x + 3, 1));
}

static void test_window(void **state)
{
    assert_int_equal(sh_moving_window(0.5, 1000.0), 500);
    assert_int_equal(sh_moving_window(0.02, 80.0), 2); /* 1.6 */
    assert_int_equal(sh_moving_window(0.02, 75.0), 2); /* 1.5, away from zero */
    assert_int_equal(sh_moving_window(0.02, 10.0), 1); /* 0.2 */
    assert_int_equal(sh_moving_window(0.0, 10.0), 0);
    assert_int_equal(sh_moving_window(-1.0, 10.0), 0);
    assert_int_equal(sh_moving_window(1.0, (double)NAN), 0);
    assert_int_equal(sh_moving_window(1e9, 1e9), 0);
}

static double add_up(const double *x, size_t n)
{
    double sum = 0.0;
    for (size_t i = 0; i < n; i++) {
        sum += x[i];
    }
    return sum;
}

static void test_means_over_whole_windows(void **state)
{
    const double x[6] = {1.0, 4.0, -2.0, 0.5, 3.0, 3.0};
    double mean[6];
    for (size_t w = 1; w <= 6; w++) {
        assert_int_equal(sh_moving_mean(x, 6, w, mean), SH_OK);
        for (size_t i = 0; i + w <= 6; i++) {
            assert_near(mean[i], add_up(x + i, w) / (double)w, 1e-15, 0.0);
        }
    }
    assert_int_equal(sh_moving_mean(x, 6, 0, mean), SH_ERR_ARGUMENT);
    assert_int_equal(sh_moving_mean(x, 6, 7, mean), SH_ERR_SHORT);
    const double bad[2] = {0.0, (double)NAN};
    assert_int_equal(sh_moving_mean(bad, 2, 1, mean), SH_ERR_NOT_FINITE);
}

/* An hour at 1 kHz about 178 N: the sums keep their digits to the end. */
static void test_sums_keep_digits(void **state)
{
    static double x[3600000];
    static double sums[3600001];
    const size_t n = 3600000;
    for (size_t i = 0; i < n; i++) {
        x[i] = 178.0 + (i % 2 == 0 ? 0.1 : -0.1);
    }
    assert_int_equal(sh_moving_sums(x, n, sums), SH_OK);
    assert_near(sums[0], 0.0, 0.0, 0.0);
    assert_near(sh_moving_sums_mean(sums, x[0], n - 20, 20), 178.0, 1e-10, 0.0);
    assert_near(sh_moving_sums_mean(sums, x[0], 0, n), 178.0, 1e-12, 0.0);
    double mean[2];
    assert_int_equal(sh_moving_mean(x, n, n - 1, mean), SH_OK);
    assert_near(mean[1], 178.0 - 0.1 / (double)(n - 1), 1e-13, 0.0);
    assert_int_equal(sh_moving_sums(x, 0, sums), SH_ERR_SHORT);
    x[5] = (double)NAN;
    assert_int_equal(sh_moving_sums(x, 6, sums), SH_ERR_NOT_FINITE);
    assert_int_equal(sh_moving_sums(x, 5, sums), SH_OK);
}

static void test_running_maximum(void **state)
{
    double x[5] = {1.0, 3.0, 2.0, 3.5, -1.0};
    const double expected[5] = {1.0, 3.0, 3.0, 3.5, 3.5};
    assert_int_equal(sh_moving_maximum(x, 5, x), SH_OK);
    for (size_t i = 0; i < 5; i++) {
        assert_near(x[i], expected[i], 0.0, 0.0);
    }
    assert_int_equal(sh_moving_maximum(x, 0, x), SH_ERR_SHORT);
    x[0] = (double)INFINITY;
    assert_int_equal(sh_moving_maximum(x, 5, x), SH_ERR_NOT_FINITE);
}

/* The largest fall is not from the largest value where that comes later. */
static void test_fall(void **state)
{
    const double x[8] = {1.0, 5.0, 5.0, 2.0, 4.0, 9.0, 7.5, 2.0 + 4.5};
    struct sh_moving_fall fall;
    assert_int_equal(sh_moving_find_fall(x, 8, &fall), SH_OK);
    assert_near(fall.fall, 3.0, 0.0, 0.0);
    assert_int_equal(fall.i_top, 1);
    assert_int_equal(fall.i_bottom, 3);
    const double rising[3] = {1.0, 2.0, 3.0};
    assert_int_equal(sh_moving_find_fall(rising, 3, &fall), SH_OK);
    assert_near(fall.fall, 0.0, 0.0, 0.0);
    assert_int_equal(fall.i_top, fall.i_bottom);
    assert_int_equal(sh_moving_find_fall(rising, 0, &fall), SH_ERR_SHORT);
    const double bad[2] = {0.0, (double)NAN};
    assert_int_equal(sh_moving_find_fall(bad, 2, &fall), SH_ERR_NOT_FINITE);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_finite),
        cmocka_unit_test(test_window),
        cmocka_unit_test(test_means_over_whole_windows),
        cmocka_unit_test(test_sums_keep_digits),
        cmocka_unit_test(test_running_maximum),
        cmocka_unit_test(test_fall),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
