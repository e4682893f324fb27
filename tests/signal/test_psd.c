/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/psd.h"

#include <math.h>

#include "support/cmocka_all.h"
#include "support/near.h"

static void test_power_of_straight_pieces(void **state)
{
    const double power[5] = {0.0, 2.0, 2.0, 4.0, 0.0};
    const struct sh_psd psd = {power, 5, 0.5, 10.0, 0.1};
    double got = 0.0;
    assert_int_equal(sh_psd_get_power(&psd, 0.0, 2.0, &got), SH_OK);
    assert_near(got, 4.0, 1e-15, 0.0);
    assert_int_equal(sh_psd_get_power(&psd, 0.5, 1.0, &got), SH_OK);
    assert_near(got, 1.0, 1e-15, 0.0);
    assert_int_equal(sh_psd_get_power(&psd, 0.25, 0.75, &got), SH_OK);
    assert_near(got, 0.375 + 0.5, 1e-15, 0.0);
    assert_int_equal(sh_psd_get_power(&psd, 1.75, 2.0, &got), SH_OK);
    assert_near(got, 0.25, 1e-15, 0.0);
}

/* A level band of width B over T: u(rms) / rms = 1 / sqrt(4 T B). */
static void test_rms_uncertainty(void **state)
{
    double power[101];
    for (size_t i = 0; i < 101; i++) {
        power[i] = 0.04;
    }
    const struct sh_psd psd = {power, 101, 0.25, 4.0, 0.75};
    struct sh_quantity rms;
    assert_int_equal(sh_psd_get_rms(&psd, 2.0, 25.0, &rms), SH_OK);
    assert_near(rms.value, sqrt(0.04 * 23.0), 1e-14, 0.0);
    assert_near(rms.u / rms.value, 1.0 / sqrt(4.0 * 4.0 * 23.0), 1e-14, 0.0);
    for (size_t i = 0; i < 101; i++) {
        power[i] = 0.0;
    }
    assert_int_equal(sh_psd_get_rms(&psd, 2.0, 25.0, &rms), SH_OK);
    assert_near(rms.value, 0.0, 0.0, 0.0);
    assert_near(rms.u, 0.0, 0.0, 0.0);
}

/* The logarithm of a Gaussian is a parabola: the refinement is exact. */
static void test_peak_between_bins(void **state)
{
    double power[40];
    for (size_t i = 0; i < 40; i++) {
        double d = ((double)i * 0.5 - 8.13) / 1.2;
        power[i] = 3.0 * exp(-0.5 * d * d);
    }
    const struct sh_psd psd = {power, 40, 0.5, 4.0, 0.75};
    struct sh_psd_peak peak;
    assert_int_equal(sh_psd_find_peak(&psd, 4.0, 15.0, &peak), SH_OK);
    assert_near(peak.frequency_hz.value, 8.13, 1e-12, 0.0);
    assert_near(peak.frequency_hz.u, 0.75, 0.0, 0.0);
    assert_near(peak.power, 3.0, 1e-12, 0.0);
    assert_false(peak.is_edge);
    assert_int_equal(sh_psd_find_peak(&psd, 9.0, 15.0, &peak), SH_OK);
    assert_near(peak.frequency_hz.value, 9.0, 0.0, 0.0);
    assert_true(peak.is_edge);
}

static void test_peak_beside_nothing(void **state)
{
    const double power[5] = {0.0, 0.0, 2.0, 0.0, 0.0};
    const struct sh_psd psd = {power, 5, 1.0, 1.0, 0.0};
    struct sh_psd_peak peak;
    assert_int_equal(sh_psd_find_peak(&psd, 0.0, 4.0, &peak), SH_OK);
    assert_near(peak.frequency_hz.value, 2.0, 0.0, 0.0);
    assert_near(peak.frequency_hz.u, 0.5, 0.0, 0.0);
    const double nothing[5] = {0.0};
    const struct sh_psd empty = {nothing, 5, 1.0, 1.0, 0.0};
    assert_int_equal(sh_psd_find_peak(&empty, 0.0, 4.0, &peak), SH_ERR_SINGULAR);
}

static void test_refusals(void **state)
{
    const double power[5] = {1.0, 1.0, 1.0, 1.0, 1.0};
    const struct sh_psd psd = {power, 5, 1.0, 1.0, 0.0};
    const struct sh_psd one = {power, 1, 1.0, 1.0, 0.0};
    struct sh_psd_peak peak;
    struct sh_quantity rms;
    double got = 0.0;
    assert_int_equal(sh_psd_get_power(&one, 0.0, 0.5, &got), SH_ERR_SHORT);
    assert_int_equal(sh_psd_get_rms(&one, 0.0, 0.5, &rms), SH_ERR_SHORT);
    assert_int_equal(sh_psd_find_peak(&one, 0.0, 0.5, &peak), SH_ERR_SHORT);
    assert_int_equal(sh_psd_get_power(&psd, -0.1, 2.0, &got), SH_ERR_ARGUMENT);
    assert_int_equal(sh_psd_get_power(&psd, 2.0, 2.0, &got), SH_ERR_ARGUMENT);
    assert_int_equal(sh_psd_get_power(&psd, 2.0, 4.1, &got), SH_ERR_ARGUMENT);
    assert_int_equal(sh_psd_get_power(&psd, (double)NAN, 2.0, &got), SH_ERR_ARGUMENT);
    assert_int_equal(sh_psd_get_rms(&psd, 2.0, (double)NAN, &rms), SH_ERR_ARGUMENT);
    assert_int_equal(sh_psd_find_peak(&psd, 2.2, 2.8, &peak), SH_ERR_ARGUMENT);
    assert_int_equal(sh_psd_get_power(&psd, 0.0, 4.0, &got), SH_OK);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_power_of_straight_pieces),
        cmocka_unit_test(test_rms_uncertainty),
        cmocka_unit_test(test_peak_between_bins),
        cmocka_unit_test(test_peak_beside_nothing),
        cmocka_unit_test(test_refusals),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
