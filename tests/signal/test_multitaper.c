/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/multitaper.h"

#include <math.h>
#include <string.h>

#include "base/units.h"
#include "signal/fft.h"
#include "signal/tapers.h"
#include "support/cmocka_all.h"
#include "support/near.h"
#include "test_noise.h"

#define RATE_HZ 200.0
#define N       800u

static struct sh_multitaper *open_default(void)
{
    struct sh_multitaper_config config = sh_multitaper_config_default();
    struct sh_multitaper *multitaper = NULL;
    config.n_max = N;
    assert_int_equal(sh_multitaper_open(&config, &multitaper, NULL), SH_OK);
    return multitaper;
}

static void fill_noise(double *x, size_t n, uint64_t *seed)
{
    for (size_t i = 0; i < n; i++) {
        x[i] = noise_normal(seed);
    }
}

/* White noise of variance 1 has density 2 / rate; with and without gaps, on average. */
static void test_noise_level(void **state)
{
    struct sh_multitaper *multitaper = open_default();
    double x[N];
    bool present[N];
    for (size_t i = 0; i < N; i++) {
        present[i] = i % 97 > 9 && (i < 300 || i > 360);
    }
    uint64_t seed = 5;
    double mean[2] = {0.0, 0.0};
    for (size_t round = 0; round < 60; round++) {
        fill_noise(x, N, &seed);
        for (size_t gaps = 0; gaps < 2; gaps++) {
            const struct sh_multitaper_window window = {x, gaps == 1 ? present : NULL, N,
                                                        RATE_HZ};
            struct sh_psd psd;
            double power = 0.0;
            assert_int_equal(sh_multitaper_run(multitaper, &window), SH_OK);
            assert_int_equal(sh_multitaper_get_psd(multitaper, &psd), SH_OK);
            assert_int_equal(sh_psd_get_power(&psd, 2.0, 98.0, &power), SH_OK);
            mean[gaps] += power / 96.0 / 60.0;
        }
    }
    assert_near(mean[0], 2.0 / RATE_HZ, 0.0, 0.02);
    assert_near(mean[1], 2.0 / RATE_HZ, 0.0, 0.02);
    sh_multitaper_close(&multitaper);
}

/* What stands at absent samples is not looked at; a gap of 5 % hardly moves a band's rms. */
static void test_gaps(void **state)
{
    struct sh_multitaper *multitaper = open_default();
    double x[N];
    bool present[N];
    for (size_t i = 0; i < N; i++) {
        present[i] = i < 300 || i >= 340;
        x[i] = present[i] ? sin(2.0 * SH_PI * 8.3 * (double)i / RATE_HZ) : (double)NAN;
    }
    const struct sh_multitaper_window window = {x, present, N, RATE_HZ};
    struct sh_psd psd;
    struct sh_quantity rms;
    assert_int_equal(sh_multitaper_run(multitaper, &window), SH_OK);
    assert_int_equal(sh_multitaper_get_psd(multitaper, &psd), SH_OK);
    assert_int_equal(sh_psd_get_rms(&psd, 2.0, 25.0, &rms), SH_OK);
    assert_near(rms.value, sqrt(0.5), 0.0, 0.02);
    assert_near(psd.duration_s, 3.8, 1e-12, 0.0);
    double least = sh_multitaper_get_concentration(multitaper);
    assert_true(least > 0.85 && least < 0.945);
    sh_multitaper_close(&multitaper);
}

static double multiply(const double *a, const double *b, size_t n)
{
    double sum = 0.0;
    for (size_t i = 0; i < n; i++) {
        sum += a[i] * b[i];
    }
    return sum;
}

/* Tapers on the samples present: orthonormal, zero elsewhere; whole again without gaps. */
static void test_tapers(void **state)
{
    struct sh_tapers *tapers = NULL;
    bool present[200];
    for (size_t i = 0; i < 200; i++) {
        present[i] = i < 60 || i >= 85;
    }
    assert_int_equal(sh_tapers_open(200, 3.0, 5, &tapers), SH_OK);
    assert_int_equal(sh_tapers_make(tapers, present, 200), SH_OK);
    for (size_t a = 0; a < 5; a++) {
        const double *va = sh_tapers_get(tapers, a);
        assert_near(va[70], 0.0, 0.0, 0.0);
        for (size_t b = 0; b <= a; b++) {
            double product = multiply(va, sh_tapers_get(tapers, b), 200);
            assert_near(product, a == b ? 1.0 : 0.0, 1e-13, 0.0);
        }
    }
    double with_gap = sh_tapers_get_concentration(tapers, 0);
    assert_int_equal(sh_tapers_make(tapers, NULL, 200), SH_OK);
    assert_true(sh_tapers_get_concentration(tapers, 0) > with_gap);
    sh_tapers_close(&tapers);
    sh_tapers_close(&tapers);
}

static void test_taper_refusals(void **state)
{
    struct sh_tapers *tapers = NULL;
    const bool present[200] = {true, true, true, true};
    assert_int_equal(sh_tapers_open(0, 3.0, 5, &tapers), SH_ERR_ARGUMENT);
    assert_int_equal(sh_tapers_open(10, 3.0, 0, &tapers), SH_ERR_ARGUMENT);
    assert_int_equal(sh_tapers_open(10, 3.0, SH_TAPERS_MAX + 1, &tapers), SH_ERR_ARGUMENT);
    assert_null(tapers);
    assert_int_equal(sh_tapers_open(200, 3.0, 5, &tapers), SH_OK);
    assert_int_equal(sh_tapers_make(tapers, present, 200), SH_ERR_SINGULAR);
    assert_int_equal(sh_tapers_make(tapers, NULL, 201), SH_ERR_ARGUMENT);
    sh_tapers_close(&tapers);
}

/* A resonance of Q 4 at 9 Hz as people's tremor has, n samples of it after it has settled. */
static void fill_hump(double *x, size_t n, uint64_t *seed)
{
    double w = 2.0 * SH_PI * 9.0 / RATE_HZ;
    double size = exp(-w / 8.0);
    double before[2] = {0.0, 0.0};
    for (size_t i = 0; i < n + 400; i++) {
        double next = 2.0 * size * cos(w) * before[0] - size * size * before[1];
        next += noise_normal(seed);
        before[1] = before[0];
        before[0] = next;
        if (i >= 400) {
            x[i - 400] = next;
        }
    }
}

/* The stated uncertainty of a hump's peak against what 200 draws show, 2 s and 4 s. */
static void test_peak_uncertainty(void **state)
{
    struct sh_multitaper *multitaper = open_default();
    uint64_t seed = 6;
    for (size_t n = 400; n <= 800; n += 400) {
        double squares = 0.0;
        double u = 0.0;
        for (size_t round = 0; round < 200; round++) {
            double x[N];
            fill_hump(x, n, &seed);
            const struct sh_multitaper_window window = {x, NULL, n, RATE_HZ};
            struct sh_psd psd;
            struct sh_psd_peak peak;
            assert_int_equal(sh_multitaper_run(multitaper, &window), SH_OK);
            assert_int_equal(sh_multitaper_get_psd(multitaper, &psd), SH_OK);
            assert_int_equal(sh_psd_find_peak(&psd, 4.0, 15.0, &peak), SH_OK);
            double error = peak.frequency_hz.value - 9.0;
            squares += error * error / 200.0;
            u = peak.frequency_hz.u;
        }
        print_message("hump's peak, %zu samples: error %.3f Hz rms, stated %.3f Hz\n", n,
                      sqrt(squares), u);
        assert_true(sqrt(squares) < 1.05 * u && sqrt(squares) > 0.35 * u);
    }
    sh_multitaper_close(&multitaper);
}

/* Limits hold the truth as often as they say; the jackknife is of the same size. */
static void test_limits(void **state)
{
    struct sh_multitaper *multitaper = open_default();
    uint64_t seed = 7;
    size_t n_inside = 0;
    size_t n_all = 0;
    double log_u = 0.0;
    for (size_t round = 0; round < 40; round++) {
        double x[N];
        fill_noise(x, N, &seed);
        const struct sh_multitaper_window window = {x, NULL, N, RATE_HZ};
        assert_int_equal(sh_multitaper_run(multitaper, &window), SH_OK);
        for (size_t bin = 500; bin < 8000; bin += 500) {
            double lo = 0.0;
            double hi = 0.0;
            double u = 0.0;
            assert_int_equal(sh_multitaper_get_limits(multitaper, bin, 0.95, &lo, &hi), SH_OK);
            assert_int_equal(sh_multitaper_get_jackknife(multitaper, bin, &u), SH_OK);
            n_inside += lo <= 0.01 && 0.01 <= hi;
            n_all++;
            log_u += u * u;
        }
    }
    assert_near((double)n_inside / (double)n_all, 0.95, 0.03, 0.0);
    /* the logarithm of a mean of 5 exponential numbers has variance trigamma(5) = 0.2213 */
    assert_near(log_u / (double)n_all, 0.2213, 0.06, 0.0);
    assert_near(sh_multitaper_get_freedom(multitaper, 500), 10.0, 0.1, 0.0);
    sh_multitaper_close(&multitaper);
}

static void test_lines(void **state)
{
    struct sh_multitaper *multitaper = open_default();
    uint64_t seed = 8;
    double squares = 0.0;
    double u = 0.0;
    size_t n_false = 0;
    for (size_t round = 0; round < 200; round++) {
        double x[N];
        struct sh_multitaper_line line;
        fill_noise(x, N, &seed);
        const struct sh_multitaper_window window = {x, NULL, N, RATE_HZ};
        assert_int_equal(sh_multitaper_run(multitaper, &window), SH_OK);
        assert_int_equal(sh_multitaper_find_line(multitaper, 4.0, 60.0, &line), SH_OK);
        n_false += line.p_value < 0.05;
        for (size_t i = 0; i < N; i++) {
            x[i] += 2.0 * cos(2.0 * SH_PI * 12.345 * (double)i / RATE_HZ + (double)round);
        }
        assert_int_equal(sh_multitaper_run(multitaper, &window), SH_OK);
        assert_int_equal(sh_multitaper_find_line(multitaper, 4.0, 60.0, &line), SH_OK);
        double error = line.frequency_hz.value - 12.345;
        squares += error * error / 200.0;
        u += line.frequency_hz.u * line.frequency_hz.u / 200.0;
        assert_true(line.p_value < 0.01);
        assert_near(line.amplitude, 2.0, 0.3, 0.0);
    }
    print_message("line: error %.4f Hz rms, stated %.4f Hz; %zu false of 200 at 5 %%\n",
                  sqrt(squares), sqrt(u), n_false);
    assert_true(sqrt(squares) < 1.4 * sqrt(u) && sqrt(squares) > 0.5 * sqrt(u));
    assert_true(n_false >= 2 && n_false <= 20);
    sh_multitaper_close(&multitaper);
}

static void test_config_refusals(void **state)
{
    struct sh_multitaper *multitaper = NULL;
    struct sh_multitaper_config good = sh_multitaper_config_default();
    struct sh_multitaper_config bad[8];
    for (size_t i = 0; i < 8; i++) {
        bad[i] = good;
    }
    bad[0].nw = 0.9;
    bad[1].nw = (double)NAN;
    bad[2].k = 1;
    bad[3].k = 7;
    bad[4].n_max = 9;
    bad[5].n_fft = good.n_max - 1;
    bad[6].n_fft = SH_FFT_LENGTH_MAX + 1;
    bad[7].nw = 65.0;
    for (size_t i = 0; i < 8; i++) {
        struct sh_error err = {0};
        assert_int_equal(sh_multitaper_open(&bad[i], &multitaper, &err), SH_ERR_ARGUMENT);
        assert_int_equal(err.status, SH_ERR_ARGUMENT);
        assert_null(multitaper);
    }
}

static void test_refusals(void **state)
{
    struct sh_multitaper *multitaper = open_default();
    double x[N + 1] = {0.0};
    struct sh_psd psd;
    struct sh_multitaper_line line;
    double lo = 0.0;
    double hi = 0.0;
    assert_int_equal(sh_multitaper_get_psd(multitaper, &psd), SH_ERR_NOT_FOUND);
    assert_int_equal(sh_multitaper_find_line(multitaper, 4.0, 15.0, &line), SH_ERR_NOT_FOUND);
    assert_int_equal(sh_multitaper_get_limits(multitaper, 5, 0.95, &lo, &hi), SH_ERR_NOT_FOUND);
    assert_int_equal(sh_multitaper_get_jackknife(multitaper, 5, &lo), SH_ERR_NOT_FOUND);
    assert_near(sh_multitaper_get_concentration(multitaper), 0.0, 0.0, 0.0);
    struct sh_multitaper_window window = {x, NULL, N + 1, RATE_HZ};
    assert_int_equal(sh_multitaper_run(multitaper, &window), SH_ERR_ARGUMENT);
    window.n = 9;
    assert_int_equal(sh_multitaper_run(multitaper, &window), SH_ERR_SHORT);
    window.n = 10;
    assert_int_equal(sh_multitaper_run(multitaper, &window), SH_OK);
    assert_int_equal(sh_multitaper_get_jackknife(multitaper, 5, &lo), SH_ERR_SINGULAR);
    assert_int_equal(sh_multitaper_get_jackknife(multitaper, 8193, &lo), SH_ERR_ARGUMENT);
    assert_int_equal(sh_multitaper_get_limits(multitaper, 8193, 0.9, &lo, &hi),
                     SH_ERR_ARGUMENT);
    assert_int_equal(sh_multitaper_get_limits(multitaper, 5, 1.0, &lo, &hi), SH_ERR_ARGUMENT);
    assert_int_equal(sh_multitaper_find_line(multitaper, 15.0, 4.0, &line), SH_ERR_ARGUMENT);
    assert_int_equal(sh_multitaper_find_line(multitaper, 4.0, 100.1, &line), SH_ERR_ARGUMENT);
    x[3] = (double)INFINITY;
    assert_int_equal(sh_multitaper_run(multitaper, &window), SH_ERR_NOT_FINITE);
    assert_int_equal(sh_multitaper_get_psd(multitaper, &psd), SH_ERR_NOT_FOUND);
    window.rate_hz = 0.0;
    assert_int_equal(sh_multitaper_run(multitaper, &window), SH_ERR_ARGUMENT);
    sh_multitaper_close(&multitaper);
    sh_multitaper_close(&multitaper);
}

/* A gain scales only powers; windows of other lengths between leave no trace. */
static void test_gain_and_memory(void **state)
{
    struct sh_multitaper *multitaper = open_default();
    uint64_t seed = 9;
    double x[N];
    double first[8193];
    fill_noise(x, N, &seed);
    struct sh_multitaper_window window = {x, NULL, 700, RATE_HZ};
    struct sh_psd psd;
    assert_int_equal(sh_multitaper_run(multitaper, &window), SH_OK);
    assert_int_equal(sh_multitaper_get_psd(multitaper, &psd), SH_OK);
    memcpy(first, psd.power, sizeof(first));
    window.n = 333;
    assert_int_equal(sh_multitaper_run(multitaper, &window), SH_OK);
    window.n = 700;
    assert_int_equal(sh_multitaper_run(multitaper, &window), SH_OK);
    assert_memory_equal(first, psd.power, sizeof(first));
    for (size_t i = 0; i < N; i++) {
        x[i] *= 4.0;
    }
    assert_int_equal(sh_multitaper_run(multitaper, &window), SH_OK);
    for (size_t i = 0; i < 8193; i++) {
        assert_near(psd.power[i], 16.0 * first[i], 0.0, 1e-14);
    }
    sh_multitaper_close(&multitaper);
}

/* The short way to the density, and what it cannot answer. */
static void test_density_only(void **state)
{
    static double x[6000];
    static bool present[6000];
    static const size_t lengths[] = {60, 700, 1024, 1025, 6000};
    struct sh_multitaper_config config = sh_multitaper_config_default();
    struct sh_multitaper *full = NULL;
    struct sh_multitaper *only = NULL;
    struct sh_multitaper_line line;
    uint64_t seed = 11;
    double u = 0.0;
    fill_noise(x, 6000, &seed);
    assert_int_equal(sh_multitaper_open(&config, &full, NULL), SH_OK);
    config.is_density_only = true;
    assert_int_equal(sh_multitaper_open(&config, &only, NULL), SH_OK);
    for (size_t i = 0; i < 6000; i++) {
        x[i] += 30.0 * cos(0.3 * (double)i) + 1000.0 * cos(0.003 * (double)i);
        present[i] = i % 41 > 3;
    }
    for (size_t k = 0; k < 10; k++) {
        const struct sh_multitaper_window window = {x, k % 2 == 0 ? NULL : present,
                                                    lengths[k / 2], RATE_HZ};
        struct sh_psd expected;
        struct sh_psd got;
        double largest = 0.0;
        assert_int_equal(sh_multitaper_run(full, &window), SH_OK);
        assert_int_equal(sh_multitaper_run(only, &window), SH_OK);
        assert_int_equal(sh_multitaper_get_psd(full, &expected), SH_OK);
        assert_int_equal(sh_multitaper_get_psd(only, &got), SH_OK);
        assert_int_equal(got.n_bins, expected.n_bins);
        for (size_t i = 0; i < got.n_bins; i++) {
            largest = fmax(largest, expected.power[i]);
        }
        for (size_t i = 0; i < got.n_bins; i++) {
            assert_near(got.power[i], expected.power[i], 1e-14 * largest, 0.0);
        }
        assert_near(sh_multitaper_get_freedom(only, 7), sh_multitaper_get_freedom(full, 7), 0.0,
                    1e-14);
    }
    assert_int_equal(sh_multitaper_find_line(only, 4.0, 60.0, &line), SH_ERR_NOT_FOUND);
    assert_int_equal(sh_multitaper_get_jackknife(only, 5, &u), SH_ERR_NOT_FOUND);
    sh_multitaper_close(&only);
    config.is_adaptive = true;
    assert_int_equal(sh_multitaper_open(&config, &only, NULL), SH_ERR_ARGUMENT);
    sh_multitaper_close(&full);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_noise_level),     cmocka_unit_test(test_gaps),
        cmocka_unit_test(test_tapers),          cmocka_unit_test(test_taper_refusals),
        cmocka_unit_test(test_config_refusals), cmocka_unit_test(test_peak_uncertainty),
        cmocka_unit_test(test_limits),          cmocka_unit_test(test_lines),
        cmocka_unit_test(test_refusals),        cmocka_unit_test(test_gain_and_memory),
        cmocka_unit_test(test_density_only),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
