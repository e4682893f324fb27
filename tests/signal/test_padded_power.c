/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/padded_power.h"

#include <math.h>

#include "base/units.h"
#include "signal/fft.h"
#include "signal/random.h"
#include "support/cmocka_all.h"
#include "support/near.h"

#define N_FFT  16384u
#define N_BINS 8193u
#define N_MAX  9000u

/* Against each series transformed at the full length, on every grid. */
static void test_against_full_transforms(void **state)
{
    static double x[2][N_MAX];
    static double got[N_BINS];
    static double spectrum[N_BINS][2];
    static const size_t lengths[] = {2, 700, 1024, 1025, 2048, 2049, 4096, 4097, 9000};
    struct sh_padded_power *power = NULL;
    struct sh_fft *fft = NULL;
    struct sh_random random;
    sh_random_init(&random, 5);
    assert_int_equal(sh_padded_power_open(N_FFT, &power, NULL), SH_OK);
    assert_int_equal(sh_fft_open(N_FFT, &fft, NULL), SH_OK);
    for (size_t k = 0; k < sizeof lengths / sizeof lengths[0]; k++) {
        static double expected[N_BINS];
        const size_t n = lengths[k];
        double largest = 0.0;
        for (size_t i = 0; i < N_BINS; i++) {
            expected[i] = 0.0;
        }
        sh_padded_power_start(power, n);
        for (size_t a = 0; a < 2; a++) {
            const double weight = 0.5 + (double)a;
            for (size_t i = 0; i < n; i++) {
                x[a][i] = sin(0.03 * (double)i) + 0.1 * sh_random_get_normal(&random);
            }
            assert_int_equal(sh_padded_power_add(power, x[a], weight), SH_OK);
            assert_int_equal(sh_fft_forward(fft, x[a], n, spectrum), SH_OK);
            for (size_t i = 0; i < N_BINS; i++) {
                expected[i] += weight * (spectrum[i][0] * spectrum[i][0] +
                                         spectrum[i][1] * spectrum[i][1]);
                largest = fmax(largest, expected[i]);
            }
        }
        assert_int_equal(sh_padded_power_finish(power, got), SH_OK);
        for (size_t i = 0; i < N_BINS; i++) {
            assert_near(got[i], expected[i], 1e-14 * largest, 0.0);
            assert_true(got[i] >= 0.0);
        }
    }
    sh_fft_close(&fft);
    sh_padded_power_close(&power);
}

/* A sum does not depend on the one before it. */
static void test_start_is_fresh(void **state)
{
    static double first[N_BINS];
    static double second[N_BINS];
    static double x[3000];
    struct sh_padded_power *power = NULL;
    for (size_t i = 0; i < 3000; i++) {
        x[i] = cos(0.1 * (double)i);
    }
    assert_int_equal(sh_padded_power_open(N_FFT, &power, NULL), SH_OK);
    sh_padded_power_start(power, 500);
    assert_int_equal(sh_padded_power_add(power, x, 1.0), SH_OK);
    assert_int_equal(sh_padded_power_finish(power, first), SH_OK);
    sh_padded_power_start(power, 3000);
    assert_int_equal(sh_padded_power_add(power, x, 2.0), SH_OK);
    assert_int_equal(sh_padded_power_finish(power, second), SH_OK);
    sh_padded_power_start(power, 500);
    assert_int_equal(sh_padded_power_add(power, x, 1.0), SH_OK);
    assert_int_equal(sh_padded_power_finish(power, second), SH_OK);
    assert_memory_equal(first, second, sizeof first);
    sh_padded_power_close(&power);
}

static void test_statuses(void **state)
{
    static double out[N_BINS];
    struct sh_padded_power *power = NULL;
    double x[16] = {1.0};
    assert_int_equal(sh_padded_power_open(0, &power, NULL), SH_ERR_ARGUMENT);
    assert_int_equal(sh_padded_power_open(SH_FFT_LENGTH_MAX + 1, &power, NULL),
                     SH_ERR_ARGUMENT);
    assert_null(power);
    assert_int_equal(sh_padded_power_open(N_FFT, &power, NULL), SH_OK);
    sh_padded_power_start(power, 16);
    x[3] = (double)NAN;
    assert_int_equal(sh_padded_power_add(power, x, 1.0), SH_ERR_NOT_FINITE);
    x[3] = 1e200;
    sh_padded_power_start(power, 16);
    assert_int_equal(sh_padded_power_add(power, x, 1.0), SH_OK);
    assert_int_equal(sh_padded_power_finish(power, out), SH_ERR_NOT_FINITE);
    sh_padded_power_close(&power);
    sh_padded_power_close(&power);
    sh_padded_power_close(NULL);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_against_full_transforms),
        cmocka_unit_test(test_start_is_fresh),
        cmocka_unit_test(test_statuses),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
