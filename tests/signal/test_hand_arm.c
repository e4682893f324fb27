/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/hand_arm.h"

#include <math.h>

#include "base/units.h"
#include "support/cmocka_all.h"
#include "support/near.h"

/* The digital filter against the analog weighting, over rates; the header states the bounds. */
static void test_digital_gain(void **state)
{
    const double rates[] = {2500.0, 3200.0, 4000.0, 5000.0, 6400.0, 10000.0, 48000.0};
    for (size_t r = 0; r < sizeof(rates) / sizeof(rates[0]); r++) {
        struct sh_biquad_design design;
        double worst = 0.0;
        assert_int_equal(sh_hand_arm_make(rates[r], &design), SH_OK);
        double top_hz = fmin(0.45 * rates[r], 1600.0);
        for (size_t k = 0; k <= 600; k++) {
            double f_hz = 3.0 * pow(top_hz / 3.0, (double)k / 600.0);
            double gain = sh_biquad_get_gain(&design, f_hz, rates[r]);
            worst = fmax(worst, fabs(gain / sh_hand_arm_get_gain(f_hz) - 1.0));
        }
        print_message("%g Hz: worst %.2f %%\n", rates[r], 100.0 * worst);
        assert_true(worst < (rates[r] < 5000.0 ? 0.022 : 0.014));
        assert_near(sh_biquad_get_gain(&design, 0.0, rates[r]), 0.0, 1e-9, 0.0);
    }
}

/* Ten seconds of a steady tone weigh as the gain says. */
static void test_tone(void **state)
{
    static double x[50000];
    double rms = 0.0;
    for (size_t i = 0; i < 50000; i++) {
        x[i] = sqrt(2.0) * 10.0 * sin(2.0 * SH_PI * 80.0 * (double)i / 5000.0);
    }
    assert_int_equal(sh_hand_arm_get_rms(x, 50000, 5000.0, &rms), SH_OK);
    assert_near(rms, 10.0 * sh_hand_arm_get_gain(80.0), 0.0, 0.015);
}

/* Four hours at 5 and two at 2 m/s^2: sqrt((25 * 4 + 4 * 2) / 8). */
static void test_exposure(void **state)
{
    const double total[3] = {5.0, 2.0, -1.0};
    const double time_s[3] = {14400.0, 7200.0, 1.0};
    double a8 = -1.0;
    assert_int_equal(sh_hand_arm_get_exposure(total, time_s, 2, &a8), SH_OK);
    assert_near(a8, sqrt(13.5), 1e-14, 0.0);
    assert_int_equal(sh_hand_arm_get_exposure(total, time_s, 0, &a8), SH_OK);
    assert_near(a8, 0.0, 0.0, 0.0);
    assert_int_equal(sh_hand_arm_get_exposure(total, time_s, 3, &a8), SH_ERR_ARGUMENT);
    const double bad[1] = {(double)NAN};
    assert_int_equal(sh_hand_arm_get_exposure(bad, time_s, 1, &a8), SH_ERR_NOT_FINITE);
    assert_int_equal(sh_hand_arm_get_exposure(total, bad, 1, &a8), SH_ERR_NOT_FINITE);
}

static void test_refusals(void **state)
{
    struct sh_biquad_design design;
    double x[2] = {1.0, (double)NAN};
    double rms = 0.0;
    assert_int_equal(sh_hand_arm_make(2499.0, &design), SH_ERR_ARGUMENT);
    assert_int_equal(sh_hand_arm_make(200001.0, &design), SH_ERR_ARGUMENT);
    assert_int_equal(sh_hand_arm_make((double)NAN, &design), SH_ERR_ARGUMENT);
    assert_int_equal(sh_hand_arm_make(200000.0, &design), SH_OK);
    assert_int_equal(sh_hand_arm_get_rms(x, 1, 2499.0, &rms), SH_ERR_ARGUMENT);
    assert_int_equal(sh_hand_arm_get_rms(x, 0, 2500.0, &rms), SH_ERR_SHORT);
    assert_int_equal(sh_hand_arm_get_rms(x, 2, 2500.0, &rms), SH_ERR_NOT_FINITE);
    assert_int_equal(sh_hand_arm_get_rms(x, 1, 2500.0, &rms), SH_OK);
    assert_near(sh_hand_arm_get_gain(0.0), 0.0, 0.0, 0.0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_digital_gain),
        cmocka_unit_test(test_tone),
        cmocka_unit_test(test_exposure),
        cmocka_unit_test(test_refusals),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
