/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/band_limited.h"

#include <math.h>

#include "base/units.h"
#include "support/cmocka_all.h"
#include "support/near.h"

#define N 200u

static void fill(double *x, double f_per_rate)
{
    for (size_t i = 0; i < N; i++) {
        x[i] = cos(2.0 * SH_PI * f_per_rate * (double)i + 0.3);
    }
}

static void test_tones_between_samples(void **state)
{
    const double tones[] = {0.0, 0.01, 0.1, 0.25, 0.35, 0.4};
    double x[N];
    for (size_t k = 0; k < sizeof tones / sizeof tones[0]; k++) {
        fill(x, tones[k]);
        for (size_t i = 0; i < 60; i++) {
            const double index = 80.0 + 0.05 * (double)i;
            assert_near(sh_band_limited_get(x, N, index),
                        cos(2.0 * SH_PI * tones[k] * index + 0.3), 0.002, 0.0);
        }
    }
}

static void test_samples_are_met(void **state)
{
    double x[N];
    fill(x, 0.17);
    for (size_t i = 20; i < 40; i++) {
        assert_near(sh_band_limited_get(x, N, (double)i), x[i], 0.001, 0.0);
    }
}

/* A lone sample is the kernel itself; beyond the ends there is nothing. */
static void test_ends(void **state)
{
    const double x[1] = {1.0};
    assert_true(sh_band_limited_get(x, 1, 0.5) > 0.6);
    assert_near(sh_band_limited_get(x, 1, 40.0), 0.0, 0.0, 0.0);
    assert_near(sh_band_limited_get(x, 1, -40.0), 0.0, 0.0, 0.0);
    assert_near(sh_band_limited_get(x, 0, 0.5), 0.0, 0.0, 0.0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_tones_between_samples),
        cmocka_unit_test(test_samples_are_met),
        cmocka_unit_test(test_ends),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
