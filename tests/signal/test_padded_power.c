/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/padded_power.h"

#include <math.h>
#include <string.h>

#include "signal/fft.h"
#include "signal/random.h"
#include "support/cmocka_all.h"
#include "support/near.h"

#define N_FFT  16384u
#define N_BINS 8193u
#define N_MAX  9000u

/* What is compared: two series, their sum and the one by full transforms. */
struct comparison {
    struct sh_padded_power *power;
    struct sh_fft *fft;
    double x[N_MAX];
    double spectrum[N_BINS][2];
    double got[N_BINS];
    double expected[N_BINS];
    double largest;
};

/* Adds a sine and noise, n samples, both ways. */
static void add_series(struct comparison *c, size_t n, double weight, struct sh_random *random)
{
    for (size_t i = 0; i < n; i++) {
        c->x[i] = sin(0.03 * (double)i) + 0.1 * sh_random_get_normal(random);
    }
    assert_int_equal(sh_padded_power_add(c->power, c->x, weight), SH_OK);
    assert_int_equal(sh_fft_forward(c->fft, c->x, n, c->spectrum), SH_OK);
    for (size_t i = 0; i < N_BINS; i++) {
        const double *y = c->spectrum[i];
        c->expected[i] += weight * (y[0] * y[0] + y[1] * y[1]);
        c->largest = fmax(c->largest, c->expected[i]);
    }
}

static void compare(struct comparison *c, size_t n, struct sh_random *random)
{
    memset(c->expected, 0, sizeof c->expected);
    c->largest = 0.0;
    sh_padded_power_start(c->power, n);
    add_series(c, n, 0.5, random);
    add_series(c, n, 1.5, random);
    assert_int_equal(sh_padded_power_finish(c->power, c->got), SH_OK);
    for (size_t i = 0; i < N_BINS; i++) {
        assert_near(c->got[i], c->expected[i], 1e-14 * c->largest, 0.0);
        assert_true(c->got[i] >= 0.0);
    }
}

/* Against each series transformed at the full length, on every grid. */
static void test_against_full_transforms(void **state)
{
    static const size_t lengths[] = {2, 700, 1024, 1025, 2048, 2049, 4096, 4097, 9000};
    static struct comparison comparison;
    struct sh_random random;
    sh_random_init(&random, 5);
    assert_int_equal(sh_padded_power_open(N_FFT, &comparison.power, NULL), SH_OK);
    assert_int_equal(sh_fft_open(N_FFT, &comparison.fft, NULL), SH_OK);
    for (size_t k = 0; k < sizeof lengths / sizeof lengths[0]; k++) {
        compare(&comparison, lengths[k], &random);
    }
    sh_fft_close(&comparison.fft);
    sh_padded_power_close(&comparison.power);
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
