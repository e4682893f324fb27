/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "measure/unsteady.h"

#include <math.h>

#include "base/units.h"
#include "measure/workspace.h"
#include "support/cmocka_all.h"
#include "support/near.h"

#define BIN_HZ 0.125
#define N_BINS 321u

/* A line of 2 N^2 (amplitude 2 N) at 8 Hz, in one bin. */
static void make_line(double *power)
{
    for (size_t i = 0; i < N_BINS; i++) {
        power[i] = 0.0;
    }
    power[64] = 2.0 / BIN_HZ;
}

static void test_white_noise_alone(void **state)
{
    const struct sh_unsteady noise = {.white_n = 0.2, .rate_hz = 1000.0};
    assert_near(sh_unsteady_get_variance(&noise, 0.05, 0.0, 0.0), 0.04 / 50.0, 0.0, 1e-12);
    assert_near(sh_unsteady_get_variance(&noise, 0.05, 0.2, 0.7), 0.04 / 50.0 + 0.04 / 200.0,
                0.0, 1e-12);
    assert_near(sh_unsteady_get_variance(&noise, 0.0001, 0.0, 0.0), 0.04, 0.0, 1e-12);
    /* Least-squares slope of n even samples: 12 s^2 / (n (n^2 - 1) dt^2). */
    assert_near(sh_unsteady_get_slope_variance(&noise, 1.0), 12.0 * 0.04 / 1000.0, 0.0, 1e-12);
}

/* Of A sin(w t + phase), phase anything, a filter of gain G leaves A^2 G^2 / 2. */
static void test_a_line_in_means_and_their_difference(void **state)
{
    double power[N_BINS];
    double kept[SH_WORKSPACE_BINS_MAX];
    make_line(power);
    const struct sh_psd psd = {.power = power, .n_bins = N_BINS, .bin_hz = BIN_HZ};
    struct sh_unsteady noise = {.rate_hz = 200.0};
    sh_unsteady_set(&noise, &psd, kept);
    const double a = sin(SH_PI * 8.0 * 0.03) / (SH_PI * 8.0 * 0.03);
    const double b = sin(SH_PI * 8.0 * 0.06) / (SH_PI * 8.0 * 0.06);
    assert_near(sh_unsteady_get_variance(&noise, 0.03, 0.0, 0.0), 2.0 * a * a, 0.0, 1e-9);
    const double apart = a * a + b * b - 2.0 * a * b * cos(2.0 * SH_PI * 8.0 * 0.12);
    assert_near(sh_unsteady_get_variance(&noise, 0.03, 0.06, 0.12), 2.0 * apart, 0.0, 1e-9);
    /* A mean over a whole number of periods sees nothing. */
    assert_near(sh_unsteady_get_variance(&noise, 0.5, 0.0, 0.0), 0.0, 1e-12, 0.0);
}

/* The slope's gain against a sum over samples. */
static void test_a_line_in_a_slope(void **state)
{
    double power[N_BINS];
    double kept[SH_WORKSPACE_BINS_MAX];
    make_line(power);
    const struct sh_psd psd = {.power = power, .n_bins = N_BINS, .bin_hz = BIN_HZ};
    struct sh_unsteady noise = {.rate_hz = 200.0};
    sh_unsteady_set(&noise, &psd, kept);
    const size_t n = 200000;
    double sum = 0.0;
    for (size_t i = 0; i < n; i++) {
        const double t_s = ((double)i + 0.5) / (double)n - 0.5;
        sum += sin(2.0 * SH_PI * 8.0 * t_s) * 12.0 * t_s / (double)n;
    }
    assert_near(sh_unsteady_get_slope_variance(&noise, 1.0), 2.0 * sum * sum, 0.0, 1e-6);
}

static void test_the_white_part_is_taken_off_once(void **state)
{
    double power[N_BINS];
    double kept[SH_WORKSPACE_BINS_MAX];
    const double floor_n2_per_hz = 2.0 * 0.09 / 200.0;
    for (size_t i = 0; i < N_BINS; i++) {
        power[i] = (i % 2 == 0 ? 3.0 : 0.5) * floor_n2_per_hz;
    }
    const struct sh_psd psd = {.power = power, .n_bins = N_BINS, .bin_hz = BIN_HZ};
    struct sh_unsteady noise = {.white_n = 0.3, .rate_hz = 200.0};
    sh_unsteady_set(&noise, &psd, kept);
    assert_int_equal(noise.n_bins, 201); /* 0 to 25 Hz */
    assert_near(kept[100], 2.0 * floor_n2_per_hz, 0.0, 1e-12);
    assert_near(kept[101], 0.0, 0.0, 0.0);
}

/* What lies below 2 Hz is the hold itself: the flank from 2 to 4 Hz goes on instead. */
static void test_slow_parts_are_replaced_by_the_flank(void **state)
{
    double power[N_BINS] = {0.0};
    double kept[SH_WORKSPACE_BINS_MAX];
    power[15] = 5.0; /* 1.875 Hz */
    power[32] = 5.0; /* 4 Hz */
    const struct sh_psd psd = {.power = power, .n_bins = N_BINS, .bin_hz = BIN_HZ};
    struct sh_unsteady noise = {.rate_hz = 200.0};
    sh_unsteady_set(&noise, &psd, kept);
    assert_near(kept[15], 0.0, 0.0, 0.0);
    power[16] = 8.0; /* 2 Hz, one of 16 bins */
    sh_unsteady_set(&noise, &psd, kept);
    assert_near(kept[0], 0.5, 0.0, 1e-12);
    assert_near(kept[15], 0.5, 0.0, 1e-12);
    assert_near(kept[16], 8.0, 0.0, 1e-12);
    /* 16 slow bins, one at 2 Hz and one at 4 Hz, all seen whole by a mean over 10 ms. */
    assert_near(sh_unsteady_get_variance(&noise, 0.01, 0.0, 0.0), 21.0 * BIN_HZ, 0.0, 0.01);
}

/* A slow line of A sin(w t) has a slope of A w at most. */
static void test_a_slow_line_has_its_own_slope(void **state)
{
    const double power[2] = {0.0, 3.0};
    const struct sh_unsteady noise = {
        .rate_hz = 200.0, .power = power, .n_bins = 2, .bin_hz = 1.0};
    const double w = 2.0 * SH_PI;
    assert_near(sh_unsteady_get_slope_variance(&noise, 1e-5), 3.0 * w * w, 0.0, 1e-6);
    assert_near(sh_unsteady_get_slope_variance(&noise, 1e-3), 3.0 * w * w, 0.0, 1e-5);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_white_noise_alone),
        cmocka_unit_test(test_a_line_in_means_and_their_difference),
        cmocka_unit_test(test_a_line_in_a_slope),
        cmocka_unit_test(test_the_white_part_is_taken_off_once),
        cmocka_unit_test(test_slow_parts_are_replaced_by_the_flank),
        cmocka_unit_test(test_a_slow_line_has_its_own_slope),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
