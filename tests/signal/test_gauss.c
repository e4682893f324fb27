/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/gauss.h"

#include <math.h>
#include <string.h>

#include "base/units.h"
#include "support/cmocka_all.h"
#include "support/near.h"
#include "test_noise.h"

#define N 500u

/* Straight lines pass exactly, to the very ends. */
static void test_lines_pass(void **state)
{
    double x[N];
    double y[N];
    const double sigmas[3] = {0.5, 4.0, 60.0};
    for (size_t i = 0; i < N; i++) {
        x[i] = 178.0 - 0.25 * (double)i;
    }
    for (size_t s = 0; s < 3; s++) {
        struct sh_gauss *gauss = NULL;
        assert_int_equal(sh_gauss_open(sigmas[s], &gauss, NULL), SH_OK);
        assert_int_equal(sh_gauss_smooth(gauss, x, N, y), SH_OK);
        for (size_t i = 0; i < N; i++) {
            assert_near(y[i], x[i], 1e-10, 0.0);
        }
        assert_int_equal(sh_gauss_slope(gauss, x, N, 1000.0, y), SH_OK);
        for (size_t i = 0; i < N; i++) {
            assert_near(y[i], -250.0, 1e-9, 0.0);
        }
        sh_gauss_close(&gauss);
    }
}

/* A sine comes out as the unbounded Gaussian would have it, within the stated error. */
static void test_sine_within_stated_error(void **state)
{
    const double sigma = 20.0;
    struct sh_gauss *gauss = NULL;
    assert_int_equal(sh_gauss_open(sigma, &gauss, NULL), SH_OK);
    double worst[2] = {0.0, 0.0};
    for (size_t k = 0; k < 30; k++) {
        double w = 0.002 * pow(1.2, (double)k);
        double x[N];
        for (size_t i = 0; i < N; i++) {
            x[i] = sin(w * (double)i);
        }
        double value = 0.0;
        double slope = 0.0;
        double fade = exp(-0.5 * w * w * sigma * sigma);
        assert_int_equal(sh_gauss_get_at(gauss, x, N, 250, &value, &slope), SH_OK);
        worst[0] = fmax(worst[0], fabs(value - fade * sin(w * 250.0)));
        worst[1] = fmax(worst[1], sigma * fabs(slope - fade * w * cos(w * 250.0)));
    }
    print_message("against the unbounded kernel: value %.2g, slope %.2g / sigma\n", worst[0],
                  worst[1]);
    assert_true(worst[0] < 2e-5 && worst[1] < 2e-5);
    sh_gauss_close(&gauss);
}

/* One sample out of a sliding buffer has the bits of the whole pass. */
static void test_streaming_bits(void **state)
{
    uint64_t seed = 10;
    double x[N];
    double whole[N];
    struct sh_gauss *gauss = NULL;
    for (size_t i = 0; i < N; i++) {
        x[i] = 100.0 + noise_normal(&seed);
    }
    assert_int_equal(sh_gauss_open(7.3, &gauss, NULL), SH_OK);
    size_t radius = sh_gauss_get_radius(gauss);
    assert_int_equal(radius, 36);
    assert_int_equal(sh_gauss_smooth(gauss, x, N, whole), SH_OK);
    for (size_t i = radius; i + radius < N; i++) {
        double value = 0.0;
        assert_int_equal(
            sh_gauss_get_at(gauss, x + i - radius, 2 * radius + 1, radius, &value, NULL),
            SH_OK);
        assert_memory_equal(&value, &whole[i], sizeof(value));
    }
    sh_gauss_close(&gauss);
}

static void test_noise(void **state)
{
    uint64_t seed = 11;
    static double x[40000];
    static double y[40000];
    struct sh_gauss *gauss = NULL;
    for (size_t i = 0; i < 40000; i++) {
        x[i] = noise_normal(&seed);
    }
    assert_int_equal(sh_gauss_open(4.0, &gauss, NULL), SH_OK);
    double squares = 0.0;
    assert_int_equal(sh_gauss_slope(gauss, x, 40000, 80.0, y), SH_OK);
    for (size_t i = 0; i < 40000; i++) {
        squares += y[i] * y[i] / 40000.0;
    }
    assert_near(sqrt(squares), sh_gauss_get_slope_noise(gauss, 80.0), 0.0, 0.04);
    /* 1 / sqrt(4 sqrt(pi) sigma^3) and 1 / sqrt(2 sqrt(pi) sigma) of the continuous kernel */
    assert_near(sh_gauss_get_slope_noise(gauss, 1.0), 1.0 / sqrt(4.0 * sqrt(SH_PI) * 64.0), 0.0,
                1e-4);
    assert_near(sh_gauss_get_value_noise(gauss), 1.0 / sqrt(2.0 * sqrt(SH_PI) * 4.0), 0.0,
                1e-4);
    sh_gauss_close(&gauss);
}

static void test_refusals(void **state)
{
    struct sh_gauss *gauss = NULL;
    struct sh_error err = {0};
    assert_int_equal(sh_gauss_open(0.49, &gauss, &err), SH_ERR_ARGUMENT);
    assert_int_equal(err.status, SH_ERR_ARGUMENT);
    assert_int_equal(sh_gauss_open((double)NAN, &gauss, NULL), SH_ERR_ARGUMENT);
    assert_int_equal(sh_gauss_open(SH_GAUSS_SIGMA_MAX * 1.01, &gauss, NULL), SH_ERR_ARGUMENT);
    assert_int_equal(sh_gauss_open(1.0, &gauss, NULL), SH_OK);
    double x[12] = {1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0, 9.0, 10.0, 11.0, (double)NAN};
    double y[12];
    double slope = 0.0;
    assert_int_equal(sh_gauss_smooth(gauss, x, 0, y), SH_ERR_SHORT);
    assert_int_equal(sh_gauss_smooth(gauss, x, 1, y), SH_OK);
    assert_near(y[0], 1.0, 0.0, 0.0);
    assert_int_equal(sh_gauss_slope(gauss, x, 1, 1.0, y), SH_ERR_SHORT);
    assert_int_equal(sh_gauss_slope(gauss, x, 2, 0.0, y), SH_ERR_ARGUMENT);
    assert_int_equal(sh_gauss_slope(gauss, x, 2, 1.0, y), SH_OK);
    assert_int_equal(sh_gauss_slope(gauss, x, 12, 1.0, y), SH_ERR_NOT_FINITE);
    assert_int_equal(sh_gauss_smooth(gauss, x, 12, y), SH_ERR_NOT_FINITE);
    assert_int_equal(sh_gauss_get_at(gauss, x, 12, 5, NULL, &slope), SH_OK);
    assert_int_equal(sh_gauss_get_at(gauss, x, 12, 6, NULL, &slope), SH_ERR_NOT_FINITE);
    assert_int_equal(sh_gauss_get_at(gauss, x, 12, 12, NULL, &slope), SH_ERR_ARGUMENT);
    assert_int_equal(sh_gauss_get_at(gauss, x, 1, 0, NULL, &slope), SH_ERR_SHORT);
    sh_gauss_close(&gauss);
    sh_gauss_close(&gauss);
    sh_gauss_close(NULL);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_lines_pass),     cmocka_unit_test(test_sine_within_stated_error),
        cmocka_unit_test(test_streaming_bits), cmocka_unit_test(test_noise),
        cmocka_unit_test(test_refusals),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
