/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/welch.h"

#include <math.h>

#include "support/cmocka_all.h"
#include "support/near.h"
#include "test_noise.h"

#define N 4096u

static void fill_noise(double *x, uint64_t *seed)
{
    for (size_t i = 0; i < N; i++) {
        x[i] = noise_normal(seed);
    }
}

/* White noise of variance 4 at 100 Hz: density 0.08, also at odd segment lengths. */
static void test_noise_level(void **state)
{
    uint64_t seed = 19;
    static double x[N];
    fill_noise(x, &seed);
    for (size_t i = 0; i < N; i++) {
        x[i] = 7.0 + 2.0 * x[i];
    }
    for (size_t n = 63; n <= 64; n++) {
        const struct sh_welch_config config = {n, n / 2, true};
        const struct sh_welch_series series = {x, NULL, N, 100.0, NULL};
        struct sh_welch *welch = NULL;
        struct sh_psd psd;
        double power = 0.0;
        assert_int_equal(sh_welch_open(&config, &welch, NULL), SH_OK);
        assert_int_equal(sh_welch_get_bins(welch), n / 2 + 1);
        assert_int_equal(sh_welch_run(welch, &series, &psd), SH_OK);
        assert_int_equal(sh_psd_get_power(&psd, 5.0, 45.0, &power), SH_OK);
        assert_near(power / 40.0, 0.08, 0.0, 0.05);
        assert_near(psd.bin_hz, 100.0 / (double)n, 0.0, 1e-15);
        sh_welch_close(&welch);
    }
}

/* Coherence of a signal with itself in independent noise of its own size is 1/2 for one noisy
 * copy; 1 for a scaled copy; about 1 / segments for strangers. */
static void test_coherence(void **state)
{
    uint64_t seed = 20;
    static double x[N];
    static double y[N];
    static double z[N];
    double coherence[33];
    double mean[3] = {0.0, 0.0, 0.0};
    const struct sh_welch_config config = {64, 32, true};
    struct sh_welch *welch = NULL;
    fill_noise(x, &seed);
    fill_noise(z, &seed);
    for (size_t i = 0; i < N; i++) {
        y[i] = x[i] + z[i];
    }
    assert_int_equal(sh_welch_open(&config, &welch, NULL), SH_OK);
    const struct sh_welch_series pairs[3] = {
        {x, y, N, 1.0, NULL}, {x, x, N, 1.0, NULL}, {x, z, N, 1.0, NULL}};
    for (size_t k = 0; k < 3; k++) {
        assert_int_equal(sh_welch_get_coherence(welch, &pairs[k], coherence), SH_OK);
        for (size_t i = 1; i < 32; i++) {
            mean[k] += coherence[i] / 31.0;
        }
    }
    assert_near(mean[0], 0.5, 0.05, 0.0);
    assert_near(mean[1], 1.0, 1e-12, 0.0);
    assert_true(mean[2] < 0.03);
    sh_welch_close(&welch);
}

/* Adds share times the density of n samples of x to mean. */
static void
add_density(struct sh_welch *welch, const double *x, size_t n, double share, double mean[17])
{
    const struct sh_welch_series series = {x, NULL, n, 10.0, NULL};
    struct sh_psd psd;
    assert_int_equal(sh_welch_run(welch, &series, &psd), SH_OK);
    for (size_t i = 0; i < 17; i++) {
        mean[i] += share * psd.power[i];
    }
}

/*
 * A gap from 151 to 165: the same as the mean of the spectra beside it, whatever lies in it.
 * Segments start at 0, 16, ...: whole ones end by 144 (8 of them) or begin from 176 on (13).
 */
static void test_gap(void **state)
{
    enum { LENGTH = 400 };
    uint64_t seed = 21;
    static double x[N];
    bool present[LENGTH];
    double mean[17] = {0.0};
    const struct sh_welch_config config = {32, 16, true};
    struct sh_welch *welch = NULL;
    struct sh_psd psd;
    fill_noise(x, &seed);
    assert_int_equal(sh_welch_open(&config, &welch, NULL), SH_OK);
    add_density(welch, x, 144, 8.0 / 21.0, mean);
    add_density(welch, x + 176, LENGTH - 176, 13.0 / 21.0, mean);
    for (size_t i = 0; i < LENGTH; i++) {
        present[i] = i < 151 || i >= 166;
        x[i] = present[i] ? x[i] : (double)NAN;
    }
    const struct sh_welch_series gapped = {x, NULL, LENGTH, 10.0, present};
    assert_int_equal(sh_welch_count_segments(welch, &gapped), 21);
    assert_int_equal(sh_welch_run(welch, &gapped, &psd), SH_OK);
    for (size_t i = 0; i < 17; i++) {
        assert_near(psd.power[i], mean[i], 0.0, 1e-13);
    }
    assert_near(psd.duration_s, (144.0 + 224.0) / 10.0, 1e-12, 0.0);
    sh_welch_close(&welch);
}

/* Segments at 0 and 16 of 60 samples, less and less of them whole. */
static void test_gap_short(void **state)
{
    uint64_t seed = 22;
    static double x[N];
    bool present[60];
    double coherence[17];
    const struct sh_welch_config config = {32, 16, true};
    const struct sh_welch_series series = {x, x, 60, 10.0, present};
    struct sh_welch *welch = NULL;
    struct sh_psd psd;
    fill_noise(x, &seed);
    for (size_t i = 0; i < 60; i++) {
        present[i] = i != 50; /* behind both */
    }
    assert_int_equal(sh_welch_open(&config, &welch, NULL), SH_OK);
    assert_int_equal(sh_welch_get_coherence(welch, &series, coherence), SH_OK);
    assert_near(coherence[5], 1.0, 1e-12, 0.0);
    present[40] = false; /* leaves the one at 0 */
    assert_int_equal(sh_welch_get_coherence(welch, &series, coherence), SH_ERR_SHORT);
    assert_int_equal(sh_welch_run(welch, &series, &psd), SH_OK);
    present[20] = false;
    assert_int_equal(sh_welch_run(welch, &series, &psd), SH_ERR_SHORT);
    sh_welch_close(&welch);
}

static void test_refusals(void **state)
{
    struct sh_welch *welch = NULL;
    struct sh_psd psd;
    double x[8] = {0.0};
    double coherence[3];
    const struct sh_welch_config bad[] = {{3, 0, false}, {8, 8, false}};
    for (size_t i = 0; i < 2; i++) {
        struct sh_error err = {0};
        assert_int_equal(sh_welch_open(&bad[i], &welch, &err), SH_ERR_ARGUMENT);
        assert_int_equal(err.status, SH_ERR_ARGUMENT);
    }
    assert_null(welch);
    const struct sh_welch_config good = {4, 2, false};
    assert_int_equal(sh_welch_open(&good, &welch, NULL), SH_OK);
    struct sh_welch_series series = {x, NULL, 3, 1.0, NULL};
    assert_int_equal(sh_welch_run(welch, &series, &psd), SH_ERR_SHORT);
    series.n = 4;
    assert_int_equal(sh_welch_run(welch, &series, &psd), SH_OK);
    assert_int_equal(sh_welch_get_coherence(welch, &series, coherence), SH_ERR_ARGUMENT);
    series.y = x;
    series.n = 5;
    assert_int_equal(sh_welch_get_coherence(welch, &series, coherence), SH_ERR_SHORT);
    series.n = 6;
    assert_int_equal(sh_welch_get_coherence(welch, &series, coherence), SH_OK);
    assert_near(coherence[1], 0.0, 0.0, 0.0); /* no power */
    series.rate_hz = 0.0;
    assert_int_equal(sh_welch_run(welch, &series, &psd), SH_ERR_ARGUMENT);
    series.rate_hz = 1.0;
    x[5] = (double)NAN;
    assert_int_equal(sh_welch_run(welch, &series, &psd), SH_ERR_NOT_FINITE);
    assert_int_equal(sh_welch_get_coherence(welch, &series, coherence), SH_ERR_NOT_FINITE);
    sh_welch_close(&welch);
    sh_welch_close(&welch);
    sh_welch_close(NULL);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_noise_level), cmocka_unit_test(test_coherence),
        cmocka_unit_test(test_gap),         cmocka_unit_test(test_gap_short),
        cmocka_unit_test(test_refusals),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
