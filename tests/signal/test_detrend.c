/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/detrend.h"

#include <math.h>

#include "support/cmocka_all.h"
#include "support/near.h"

static void test_line(void **state)
{
    double x[6] = {1.0, 3.0, (double)NAN, 7.0, 9.0, 11.0};
    const bool present[6] = {true, true, false, true, true, true};
    double y[6];
    assert_int_equal(sh_detrend_line(x, present, 6, y), SH_OK);
    for (size_t i = 0; i < 6; i++) {
        assert_near(y[i], 0.0, 1e-14, 0.0);
    }
    x[2] = 5.0 + 6.0; /* fit: 1/6 of it in the mean, none in the slope beyond its place */
    assert_int_equal(sh_detrend_line(x, NULL, 6, x), SH_OK);
    double sum = 0.0;
    double moment = 0.0;
    for (size_t i = 0; i < 6; i++) {
        sum += x[i];
        moment += (double)i * x[i];
    }
    assert_near(sum, 0.0, 1e-13, 0.0);
    assert_near(moment, 0.0, 1e-12, 0.0);
    assert_true(x[2] > 4.0);
}

static void test_mean(void **state)
{
    double x[3] = {1.0, 5.0, 100.0};
    const bool present[3] = {true, true, false};
    assert_int_equal(sh_detrend_mean(x, present, 3, x), SH_OK);
    assert_near(x[0], -2.0, 1e-15, 0.0);
    assert_near(x[1], 2.0, 1e-15, 0.0);
    assert_near(x[2], 0.0, 0.0, 0.0);
}

static void test_refusals(void **state)
{
    const double x[2] = {1.0, (double)NAN};
    const bool present[2] = {true, false};
    const bool none[2] = {false, false};
    double y[2] = {7.0, 7.0};
    assert_int_equal(sh_detrend_line(x, NULL, 2, y), SH_ERR_NOT_FINITE);
    assert_int_equal(sh_detrend_mean(x, NULL, 2, y), SH_ERR_NOT_FINITE);
    assert_int_equal(sh_detrend_line(x, present, 2, y), SH_ERR_SHORT);
    assert_int_equal(sh_detrend_mean(x, none, 2, y), SH_ERR_SHORT);
    assert_near(y[0], 7.0, 0.0, 0.0);
    assert_int_equal(sh_detrend_mean(x, present, 2, y), SH_OK);
    assert_near(y[0], 0.0, 0.0, 0.0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_line),
        cmocka_unit_test(test_mean),
        cmocka_unit_test(test_refusals),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
