/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Short series, odd and even, and series with gaps against SciPy and NumPy. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "signal/detrend.h"
#include "signal/dpss.h"
#include "signal/envelope.h"
#include "signal/mask.h"
#include "signal/multitaper.h"
#include "signal/savgol.h"
#include "signal/tapers.h"
#include "signal/theil_sen.h"
#include "signal/welch.h"
#include "support/cmocka_all.h"
#include "support/reference.h"

#define RATE_HZ    100.0
#define N_MAX      64u
#define N_FFT      128u
#define N_GAPPED   61u
#define NW         2.0
#define K          3u
#define TOLERANCE  1e-9 /* of the peak */
#define GAP_WEIGHT 1e-5 /* concentrations with a gap, which only weight the tapers */

static const size_t sizes[6] = {7, 8, 9, 10, 31, 64};

static void check_series(const struct sh_reference_file *file,
                         const char *what,
                         size_t n,
                         const double *got,
                         size_t n_got)
{
    char name[32];
    char check[64];
    size_t n_expected = 0;
    (void)snprintf(name, sizeof(name), "%s_%zu", what, n);
    (void)snprintf(check, sizeof(check), "%s, %zu samples", what, n);
    for (char *gap = strchr(check, '_'); gap != NULL; gap = strchr(gap, '_')) {
        *gap = ' ';
    }
    const double *expected = sh_reference_get(file, name, &n_expected);
    assert_int_equal(n_expected, n_got);
    sh_reference_series(check, "SciPy", expected, got, n_got, TOLERANCE);
}

/* Bins 1, 9, 17, ... of 65: limits by the chi-square law, and the jackknife's error. */
static void check_limits(const struct sh_reference_file *file,
                         const struct sh_multitaper *multitaper,
                         size_t n)
{
    double lower[8];
    double upper[8];
    double jackknife[8];
    for (size_t i = 0; i < 8; i++) {
        const size_t bin = 1 + 8 * i;
        assert_int_equal(sh_multitaper_get_limits(multitaper, bin, 0.95, &lower[i], &upper[i]),
                         SH_OK);
        assert_int_equal(sh_multitaper_get_jackknife(multitaper, bin, &jackknife[i]), SH_OK);
    }
    check_series(file, "multitaper_lower", n, lower, 8);
    check_series(file, "multitaper_upper", n, upper, 8);
    check_series(file, "multitaper_jackknife", n, jackknife, 8);
}

static void run_multitaper(const struct sh_multitaper_window *window,
                           size_t n_fft,
                           const struct sh_reference_file *file,
                           const char *name,
                           double tolerance)
{
    const struct sh_multitaper_config config = {
        .n_max = window->n, .nw = NW, .k = K, .n_fft = n_fft};
    struct sh_multitaper *multitaper = NULL;
    struct sh_psd psd;
    char check[96];
    size_t n_bins = 0;
    assert_int_equal(sh_multitaper_open(&config, &multitaper, NULL), SH_OK);
    assert_int_equal(sh_multitaper_run(multitaper, window), SH_OK);
    assert_int_equal(sh_multitaper_get_psd(multitaper, &psd), SH_OK);
    const double *expected = sh_reference_get(file, name, &n_bins);
    assert_int_equal(n_bins, psd.n_bins);
    (void)snprintf(check, sizeof(check), "multitaper, %zu samples in %zu%s", window->n, n_fft,
                   window->present != NULL ? ", seven absent" : "");
    sh_reference_series(check, "SciPy, NumPy", expected, psd.power, n_bins, tolerance);
    if (n_fft == N_FFT && window->present == NULL) {
        check_limits(file, multitaper, window->n);
    }
    sh_multitaper_close(&multitaper);
}

static void check_welch(const struct sh_reference_file *file, const double *x, size_t n)
{
    const struct sh_welch_config config = {n, 0, true};
    const struct sh_welch_series series = {.x = x, .n = n, .rate_hz = RATE_HZ};
    struct sh_welch *welch = NULL;
    struct sh_psd psd;
    assert_int_equal(sh_welch_open(&config, &welch, NULL), SH_OK);
    assert_int_equal(sh_welch_run(welch, &series, &psd), SH_OK);
    check_series(file, "welch", n, psd.power, psd.n_bins);
    sh_welch_close(&welch);
}

static void check_smooth(const struct sh_reference_file *file, const double *x, size_t n)
{
    double work[5];
    double got[N_MAX];
    const struct sh_savgol_config config = {5, 2, 0};
    const struct sh_savgol_series series = {x, n, RATE_HZ};
    struct sh_envelope *envelope = NULL;
    assert_int_equal(sh_savgol_filter(&config, &series, work, got), SH_OK);
    check_series(file, "savgol", n, got, n);
    assert_int_equal(sh_envelope_open(n, &envelope, NULL), SH_OK);
    assert_int_equal(sh_envelope_run(envelope, x, got, NULL), SH_OK);
    check_series(file, "hilbert", n, got, n);
    sh_envelope_close(&envelope);
    assert_int_equal(sh_detrend_line(x, NULL, n, got), SH_OK);
    check_series(file, "detrend", n, got, n);
}

static void fit_theil_sen(const double *x, const double *y, size_t n, double got[4])
{
    static double work[SH_THEIL_SEN_WORK(N_MAX)];
    struct sh_theil_sen line;
    assert_int_equal(sh_theil_sen_fit(x, y, n, 0.95, work, &line), SH_OK);
    got[0] = line.slope;
    got[1] = line.slope_lo;
    got[2] = line.slope_hi;
    got[3] = line.intercept;
}

static void test_short(void **state)
{
    struct sh_reference_file *file = sh_reference_open("short");
    const double *x = sh_reference_get(file, "x", NULL);
    double time[N_MAX];
    double got[4];
    for (size_t i = 0; i < N_MAX; i++) {
        time[i] = (double)i;
    }
    for (size_t i = 0; i < sizeof(sizes) / sizeof(sizes[0]); i++) {
        const struct sh_multitaper_window window = {.x = x, .n = sizes[i], .rate_hz = RATE_HZ};
        char name[32];
        (void)snprintf(name, sizeof(name), "multitaper_%zu_%zu", sizes[i], sizes[i]);
        run_multitaper(&window, sizes[i], file, name, TOLERANCE);
        (void)snprintf(name, sizeof(name), "multitaper_%zu_%u", sizes[i], N_FFT);
        run_multitaper(&window, N_FFT, file, name, TOLERANCE);
        check_welch(file, x, sizes[i]);
        check_smooth(file, x, sizes[i]);
        fit_theil_sen(time, x, sizes[i], got);
        check_series(file, "theil_sen", sizes[i], got, 4);
    }
    sh_reference_close(&file);
}

/* Seven of 61 samples absent, in two gaps; what lies there is not looked at. */
static void test_gaps(void **state)
{
    struct sh_reference_file *file = sh_reference_open("short");
    const double *x = sh_reference_get(file, "x", NULL);
    size_t n_absent = 0;
    const double *absent = sh_reference_get(file, "absent", &n_absent);
    bool present[N_GAPPED];
    double time[N_GAPPED];
    double y[N_GAPPED];
    double level[N_GAPPED];
    for (size_t i = 0; i < N_GAPPED; i++) {
        present[i] = true;
        time[i] = (double)i;
        y[i] = x[i];
    }
    for (size_t i = 0; i < n_absent; i++) {
        present[(size_t)absent[i]] = false;
        y[(size_t)absent[i]] = (double)NAN;
    }
    assert_int_equal(sh_detrend_line(y, present, N_GAPPED, level), SH_OK);
    sh_reference_series("detrend with gaps", "NumPy",
                        sh_reference_get(file, "gapped_detrend", NULL), level, N_GAPPED,
                        TOLERANCE);
    struct sh_tapers *tapers = NULL;
    assert_int_equal(sh_tapers_open(N_GAPPED, NW, K, &tapers), SH_OK);
    assert_int_equal(sh_tapers_make(tapers, present, N_GAPPED), SH_OK);
    const double *expected = sh_reference_get(file, "gapped_tapers", NULL);
    const double *ratios = sh_reference_get(file, "gapped_ratios", NULL);
    for (size_t k = 0; k < K; k++) {
        char check[64];
        (void)snprintf(check, sizeof(check), "taper %zu with gaps", k);
        sh_reference_series(check, "SciPy, NumPy's QR", expected + k * N_GAPPED,
                            sh_tapers_get(tapers, k), N_GAPPED, TOLERANCE);
        (void)snprintf(check, sizeof(check), "its concentration, taper %zu", k);
        sh_reference_row(check, "sine kernel, NumPy", ratios[k],
                         sh_tapers_get_concentration(tapers, k), GAP_WEIGHT);
    }
    sh_tapers_close(&tapers);
    const struct sh_multitaper_window window = {level, present, N_GAPPED, RATE_HZ};
    run_multitaper(&window, N_FFT, file, "gapped_multitaper", GAP_WEIGHT);
    double got[4];
    const size_t n = sh_mask_compact(time, present, N_GAPPED, time);
    assert_int_equal(sh_mask_compact(y, present, N_GAPPED, y), n);
    fit_theil_sen(time, y, n, got);
    sh_reference_series("Theil-Sen with gaps", "SciPy",
                        sh_reference_get(file, "gapped_theil_sen", NULL), got, 4, 1e-13);
    sh_reference_close(&file);
}

/* Tapers of a program that is neither SciPy nor this one. Half a unit of the eighth digit,
 * which is the last one printed, is 3.5e-8 of the peak. */
static void test_other_tapers(void **state)
{
    const struct sh_dpss_config config = {100, 2.0, 4};
    double tapers[4 * 100];
    struct sh_reference_file *file = sh_reference_open("dpss_100");
    assert_int_equal(sh_dpss_make(&config, tapers, NULL), SH_OK);
    for (size_t k = 0; k < 4; k++) {
        char name[32];
        char check[64];
        (void)snprintf(name, sizeof(name), "taper_%zu", k + 1);
        (void)snprintf(check, sizeof(check), "DPSS 100, NW 2, taper %zu", k);
        sh_reference_series(check, "another vendor's program, by nitime",
                            sh_reference_get(file, name, NULL), tapers + 100 * k, 100, 3.5e-8);
    }
    sh_reference_close(&file);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_short),
        cmocka_unit_test(test_gaps),
        cmocka_unit_test(test_other_tapers),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
