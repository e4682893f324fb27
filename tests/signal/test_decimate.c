/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/decimate.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#include "base/units.h"
#include "support/cmocka_all.h"
#include "support/near.h"

#define N_MAX 20000u

/* Largest deviation in the middle of 2 s of a sine from what is promised for its frequency. */
static double get_error(double in_hz, double f_hz)
{
    static double x[N_MAX];
    static double y[N_MAX];
    struct sh_decimate *decimate = NULL;
    size_t n = (size_t)(2.0 * in_hz);
    for (size_t i = 0; i < n; i++) {
        x[i] = cos(2.0 * SH_PI * f_hz * (double)i / in_hz + 0.7);
    }
    assert_int_equal(sh_decimate_open(in_hz, 200.0, &decimate, NULL), SH_OK);
    assert_near(sh_decimate_get_rate(decimate), 200.0, 0.0, 0.0);
    size_t n_out = sh_decimate_get_count(decimate, n);
    assert_int_equal(sh_decimate_run(decimate, x, n, y), SH_OK);
    double worst = 0.0;
    for (size_t j = 20; j + 20 < n_out; j++) {
        double passed = cos(2.0 * SH_PI * f_hz * (double)j / 200.0 + 0.7);
        worst = fmax(worst, fabs(y[j] - (f_hz <= 80.0 ? passed : 0.0)));
    }
    sh_decimate_close(&decimate);
    return worst;
}

static void test_bands(void **state)
{
    const double rates[] = {500.0, 860.0, 1000.0, 1024.0, 3200.0, 6666.7};
    double worst = 0.0;
    for (size_t r = 0; r < sizeof(rates) / sizeof(rates[0]); r++) {
        size_t n_tones = (size_t)(0.5 * rates[r] / 4.7);
        for (size_t k = 0; k < n_tones; k++) {
            double f_hz = 0.5 + 4.7 * (double)k;
            bool is_between = f_hz > 80.0 && f_hz < 120.0;
            worst = fmax(worst, is_between ? 0.0 : get_error(rates[r], f_hz));
        }
    }
    print_message("worst ripple or leak: %.3g\n", worst);
    assert_true(worst < 2e-4);
}

/* 250 Hz to 200 Hz: nothing below 125 Hz can fold. */
static void test_small_ratio(void **state)
{
    assert_true(get_error(250.0, 79.0) < 2e-4);
    assert_true(get_error(201.0, 40.0) < 2e-4);
}

static void test_straight_lines_pass(void **state)
{
    double x[333];
    double y[333];
    struct sh_decimate *decimate = NULL;
    assert_int_equal(sh_decimate_open(1000.0, 200.0, &decimate, NULL), SH_OK);
    for (size_t i = 0; i < 333; i++) {
        x[i] = 170.0 + 0.01 * (double)i;
    }
    assert_int_equal(sh_decimate_get_count(decimate, 333), 67);
    assert_int_equal(sh_decimate_run(decimate, x, 333, y), SH_OK);
    for (size_t j = 0; j < 67; j++) {
        assert_near(y[j], 170.0 + 0.05 * (double)j, 1e-9, 0.0);
    }
    assert_int_equal(sh_decimate_run(decimate, x, 1, y), SH_OK);
    assert_near(y[0], 170.0, 1e-12, 0.0);
    assert_int_equal(sh_decimate_get_count(decimate, 0), 0);
    assert_int_equal(sh_decimate_get_count(decimate, 5), 1);
    assert_int_equal(sh_decimate_get_count(decimate, 6), 2);
    sh_decimate_close(&decimate);
}

static void test_slow_input_stays(void **state)
{
    const double x[4] = {1.0, -2.0, 3.0, 0.5};
    double y[4];
    struct sh_decimate *decimate = NULL;
    const double rates[2] = {80.0, 200.0};
    for (size_t r = 0; r < 2; r++) {
        assert_int_equal(sh_decimate_open(rates[r], 200.0, &decimate, NULL), SH_OK);
        assert_near(sh_decimate_get_rate(decimate), rates[r], 0.0, 0.0);
        assert_int_equal(sh_decimate_get_count(decimate, 4), 4);
        assert_int_equal(sh_decimate_run(decimate, x, 4, y), SH_OK);
        assert_memory_equal(x, y, sizeof(x));
        sh_decimate_close(&decimate);
    }
}

static void test_refusals(void **state)
{
    struct sh_decimate *decimate = NULL;
    struct sh_error err = {0};
    assert_int_equal(sh_decimate_open(0.0, 200.0, &decimate, &err), SH_ERR_ARGUMENT);
    assert_int_equal(err.status, SH_ERR_ARGUMENT);
    assert_int_equal(sh_decimate_open(1000.0, (double)NAN, &decimate, NULL), SH_ERR_ARGUMENT);
    assert_int_equal(sh_decimate_open(1e4 * 200.0 + 1.0, 200.0, &decimate, NULL),
                     SH_ERR_ARGUMENT);
    assert_null(decimate);
    assert_int_equal(sh_decimate_open(1000.0, 200.0, &decimate, NULL), SH_OK);
    double x[2] = {1.0, (double)NAN};
    double y[2];
    assert_int_equal(sh_decimate_run(decimate, x, 0, y), SH_ERR_SHORT);
    assert_int_equal(sh_decimate_run(decimate, x, 2, y), SH_ERR_NOT_FINITE);
    sh_decimate_close(&decimate);
    sh_decimate_close(&decimate);
    sh_decimate_close(NULL);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_bands),
        cmocka_unit_test(test_small_ratio),
        cmocka_unit_test(test_straight_lines_pass),
        cmocka_unit_test(test_slow_input_stays),
        cmocka_unit_test(test_refusals),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
