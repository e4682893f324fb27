/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/hand_arm.h"

#include <math.h>

#include "base/units.h"
#include "support/cmocka_all.h"
#include "support/near.h"

#define BANDS  24u
#define SPAN_S 4.0
#define N_MAX  40000u /* SPAN_S at the fastest rate */

/* ISO 5349-1:2001, table A.2: W_h at the one-third-octave centres 10^(n/10) Hz, n 8 to 31. */
static const double table[BANDS] = {0.727,  0.873,  0.951,  0.958,  0.896,  0.782,
                                    0.647,  0.519,  0.411,  0.324,  0.256,  0.202,
                                    0.160,  0.127,  0.101,  0.0799, 0.0634, 0.0503,
                                    0.0398, 0.0314, 0.0245, 0.0186, 0.0135, 0.00894};

static double get_centre_hz(size_t band)
{
    return pow(10.0, 0.1 * (double)(band + 8u));
}

/* A tone of rms 1 that swells and ebbs (Hann), so that its spectrum is narrow; its own rms. */
static double fill_tone(double *x, size_t n, double f_hz, double rate_hz)
{
    double sum = 0.0;
    for (size_t i = 0; i < n; i++) {
        const double swell = 1.0 - cos(2.0 * SH_PI * ((double)i + 0.5) / (double)n);
        x[i] = swell * sin(2.0 * SH_PI * f_hz * (double)i / rate_hz);
        sum += x[i] * x[i];
    }
    return sqrt(sum / (double)n);
}

/* All bands that a rate shows come out within 0.5 % of the standard's table. */
static void test_bands_of_the_standard(void **state)
{
    static const double rates_hz[] = {2500.0, 3200.0, 5000.0, 10000.0};
    static double x[N_MAX];
    struct sh_hand_arm *hand_arm = NULL;
    assert_int_equal(sh_hand_arm_open(N_MAX, &hand_arm, NULL), SH_OK);
    for (size_t r = 0; r < sizeof rates_hz / sizeof rates_hz[0]; r++) {
        const size_t n = (size_t)(SPAN_S * rates_hz[r]);
        double worst = 0.0;
        size_t n_bands = 0;
        for (size_t k = 0; k < BANDS && get_centre_hz(k) < 0.48 * rates_hz[r]; k++) {
            double rms = 0.0;
            const double own = fill_tone(x, n, get_centre_hz(k), rates_hz[r]);
            assert_int_equal(sh_hand_arm_get_rms(hand_arm, x, n, rates_hz[r], &rms), SH_OK);
            worst = fmax(worst, fabs(rms / own / table[k] - 1.0));
            n_bands++;
        }
        print_message("%g Hz: %zu bands, worst %.2f %%\n", rates_hz[r], n_bands, 100.0 * worst);
        assert_int_equal(n_bands, rates_hz[r] < 2600.0 ? 23 : 24);
        assert_true(worst < 0.005);
    }
    sh_hand_arm_close(&hand_arm);
}

/* A blow that rings down weighs the same wherever in the window it begins and however padded.
 */
static void test_a_blow(void **state)
{
    static double x[8000];
    struct sh_hand_arm *tight = NULL;
    struct sh_hand_arm *wide = NULL;
    double rms[3];
    assert_int_equal(sh_hand_arm_open(3200, &tight, NULL), SH_OK);
    assert_int_equal(sh_hand_arm_open(30000, &wide, NULL), SH_OK);
    for (size_t k = 0; k < 2; k++) {
        for (size_t i = 0; i < 3200; i++) {
            const double since_s = ((double)i - (k == 0 ? 100.0 : 2000.0)) / 3200.0;
            x[i] = since_s < 0.0 ? 0.0 : 100.0 * exp(-30.0 * since_s) * sin(500.0 * since_s);
        }
        assert_int_equal(sh_hand_arm_get_rms(tight, x, 3200, 3200.0, &rms[k]), SH_OK);
    }
    assert_int_equal(sh_hand_arm_get_rms(wide, x, 3200, 3200.0, &rms[2]), SH_OK);
    assert_near(rms[1], rms[0], 0.0, 0.002);
    assert_near(rms[2], rms[1], 0.0, 0.001);
    sh_hand_arm_close(&tight);
    sh_hand_arm_close(&wide);
    sh_hand_arm_close(&wide);
    sh_hand_arm_close(NULL);
}

/* Of a second at 3200 Hz. */
static double get_rms(const double *x)
{
    struct sh_hand_arm *hand_arm = NULL;
    double rms = 0.0;
    assert_int_equal(sh_hand_arm_open(3200, &hand_arm, NULL), SH_OK);
    assert_int_equal(sh_hand_arm_get_rms(hand_arm, x, 3200, 3200.0, &rms), SH_OK);
    sh_hand_arm_close(&hand_arm);
    return rms;
}

/* A single sample is all frequencies alike: the mean of the squared gain, by 1 Hz. */
static void test_a_single_sample(void **state)
{
    static double x[3200];
    double mean = 0.0;
    for (size_t i = 0; i < 1600; i++) {
        const double gain = sh_hand_arm_get_gain((double)i + 0.5);
        mean += gain * gain / 1600.0;
    }
    for (size_t i = 0; i < 3200; i++) {
        x[i] = i == 700 ? 50.0 : 0.0;
    }
    assert_near(get_rms(x), 50.0 * sqrt(mean / 3200.0), 0.0, 0.001);
}

/* A level that the window cuts off at its end answers behind it, where nobody looks. */
static void test_the_end_of_the_window(void **state)
{
    static double level[3200];
    static double half[3200];
    for (size_t i = 0; i < 3200; i++) {
        level[i] = 1.0;
        half[i] = i < 1600 ? 0.0 : 1.0;
    }
    assert_near(get_rms(half), get_rms(level), 0.0, 0.01);
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

/* 288 shots are a hundredth of 8 h: a tenth of a shot's own value. */
static void test_exposure_of_shots(void **state)
{
    double a8 = -1.0;
    assert_int_equal(sh_hand_arm_get_shots_exposure(10.0, 288.0, &a8), SH_OK);
    assert_near(a8, 1.0, 0.0, 1e-14);
    assert_int_equal(sh_hand_arm_get_shots_exposure(10.0, 0.0, &a8), SH_OK);
    assert_near(a8, 0.0, 0.0, 0.0);
    assert_int_equal(sh_hand_arm_get_shots_exposure(10.0, -1.0, &a8), SH_ERR_ARGUMENT);
    assert_int_equal(sh_hand_arm_get_shots_exposure(-1.0, 1.0, &a8), SH_ERR_ARGUMENT);
    assert_int_equal(sh_hand_arm_get_shots_exposure((double)NAN, 1.0, &a8), SH_ERR_NOT_FINITE);
    assert_int_equal(sh_hand_arm_get_shots_exposure(1.0, (double)INFINITY, &a8),
                     SH_ERR_NOT_FINITE);
}

static void test_refusals(void **state)
{
    struct sh_hand_arm *hand_arm = NULL;
    struct sh_error err = {0};
    double x[2] = {1.0, (double)NAN};
    double rms = 0.0;
    assert_int_equal(sh_hand_arm_open(0, &hand_arm, &err), SH_ERR_ARGUMENT);
    assert_int_equal(sh_hand_arm_open(((size_t)1 << 22) + 1u, &hand_arm, NULL),
                     SH_ERR_ARGUMENT);
    assert_null(hand_arm);
    assert_int_equal(sh_hand_arm_open(2, &hand_arm, NULL), SH_OK);
    assert_int_equal(sh_hand_arm_get_rms(hand_arm, x, 1, 2499.0, &rms), SH_ERR_ARGUMENT);
    assert_int_equal(sh_hand_arm_get_rms(hand_arm, x, 1, 200001.0, &rms), SH_ERR_ARGUMENT);
    assert_int_equal(sh_hand_arm_get_rms(hand_arm, x, 1, (double)NAN, &rms), SH_ERR_ARGUMENT);
    assert_int_equal(sh_hand_arm_get_rms(hand_arm, x, 3, 2500.0, &rms), SH_ERR_ARGUMENT);
    assert_int_equal(sh_hand_arm_get_rms(hand_arm, x, 0, 2500.0, &rms), SH_ERR_SHORT);
    assert_int_equal(sh_hand_arm_get_rms(hand_arm, x, 2, 2500.0, &rms), SH_ERR_NOT_FINITE);
    assert_int_equal(sh_hand_arm_get_rms(hand_arm, x, 1, 2500.0, &rms), SH_OK);
    assert_int_equal(sh_hand_arm_get_rms(hand_arm, x, 1, 200000.0, &rms), SH_OK);
    assert_near(sh_hand_arm_get_gain(0.0), 0.0, 0.0, 0.0);
    sh_hand_arm_close(&hand_arm);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_bands_of_the_standard),
        cmocka_unit_test(test_a_blow),
        cmocka_unit_test(test_a_single_sample),
        cmocka_unit_test(test_the_end_of_the_window),
        cmocka_unit_test(test_exposure),
        cmocka_unit_test(test_exposure_of_shots),
        cmocka_unit_test(test_refusals),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
