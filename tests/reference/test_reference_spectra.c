/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Spectra against SciPy, NumPy, figures in closed form and 40-digit arithmetic. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "base/units.h"
#include "signal/detrend.h"
#include "signal/dpss.h"
#include "signal/envelope.h"
#include "signal/multitaper.h"
#include "signal/welch.h"
#include "support/cmocka_all.h"
#include "support/reference.h"

#define SERIES_TOLERANCE 1e-9 /* of the peak */
#define RATE_HZ          200.0

/* N = 64, NW = 4, 40-digit arithmetic. */
static void test_concentrations(void **state)
{
    const double expected[8] = {0.999999999745837, 0.999999975397203, 0.999998895189714,
                                0.999969657680049, 0.999436549707193, 0.992710115932201,
                                0.937468604926453, 0.699685077369259};
    const struct sh_dpss_config config = {64, 4.0, 8};
    double tapers[8 * 64];
    double got[8];
    assert_int_equal(sh_dpss_make(&config, tapers, got), SH_OK);
    for (size_t k = 0; k < 8; k++) {
        char check[64];
        (void)snprintf(check, sizeof(check), "DPSS 64, NW 4, concentration %zu", k);
        sh_reference_row(check, "40-digit arithmetic", expected[k], got[k], 2e-14);
    }
}

static void check_tapers(const struct sh_reference_file *file,
                         const struct sh_dpss_config *config,
                         size_t stride)
{
    char name[32];
    char check[64];
    (void)snprintf(name, sizeof(name), "dpss_%zu", config->n);
    (void)snprintf(check, sizeof(check), "DPSS tapers, %zu samples", config->n);
    size_t n_expected = 0;
    const double *expected = sh_reference_get(file, name, &n_expected);
    double *tapers = calloc(config->n * config->k, sizeof(*tapers));
    double *got = calloc(n_expected, sizeof(*got));
    assert_non_null(tapers);
    assert_non_null(got);
    assert_int_equal(sh_dpss_make(config, tapers, NULL), SH_OK);
    size_t n_got = 0;
    for (size_t k = 0; k < config->k; k++) {
        for (size_t i = 0; i < config->n; i += stride) {
            assert_true(n_got < n_expected);
            got[n_got++] = tapers[k * config->n + i];
        }
    }
    assert_int_equal(n_got, n_expected);
    sh_reference_series(check, "SciPy", expected, got, n_got, SERIES_TOLERANCE);
    free(tapers);
    free(got);
}

static void test_tapers(void **state)
{
    struct sh_reference_file *file = sh_reference_open("spectra");
    const struct sh_dpss_config configs[] = {{7, 2.0, 3},   {8, 2.0, 4},    {9, 2.5, 5},
                                             {33, 3.0, 5},  {64, 4.0, 8},   {800, 3.0, 5},
                                             {801, 3.0, 5}, {4097, 4.0, 8}, {16384, 4.0, 8}};
    const size_t strides[] = {1, 1, 1, 1, 1, 1, 8, 16, 61};
    for (size_t i = 0; i < sizeof(strides) / sizeof(strides[0]); i++) {
        check_tapers(file, &configs[i], strides[i]);
    }
    sh_reference_close(&file);
}

static void run_multitaper(const double *x, bool is_adaptive, struct sh_multitaper **out)
{
    struct sh_multitaper_config config = sh_multitaper_config_default();
    config.n_max = 800;
    config.n_fft = 4096;
    config.is_adaptive = is_adaptive;
    assert_int_equal(sh_multitaper_open(&config, out, NULL), SH_OK);
    const struct sh_multitaper_window window = {.x = x, .n = 800, .rate_hz = RATE_HZ};
    assert_int_equal(sh_multitaper_run(*out, &window), SH_OK);
}

static void
check_density(const struct sh_reference_file *file, const char *name, bool is_adaptive)
{
    struct sh_multitaper *multitaper = NULL;
    run_multitaper(sh_reference_get(file, "x", NULL), is_adaptive, &multitaper);
    struct sh_psd psd;
    assert_int_equal(sh_multitaper_get_psd(multitaper, &psd), SH_OK);
    size_t n = 0;
    const double *expected = sh_reference_get(file, name, &n);
    assert_int_equal(n, (psd.n_bins + 7) / 8);
    double got[257];
    for (size_t i = 0; i < n; i++) {
        got[i] = psd.power[8 * i];
    }
    sh_reference_series(name, "NumPy", expected, got, n, SERIES_TOLERANCE);
    sh_multitaper_close(&multitaper);
}

static void test_multitaper(void **state)
{
    struct sh_reference_file *file = sh_reference_open("spectra");
    check_density(file, "multitaper", false);
    check_density(file, "multitaper_adaptive", true);
    sh_reference_close(&file);
}

/* The largest F among the stored bins, which hold the line at 8.3 Hz. */
static void test_line(void **state)
{
    struct sh_reference_file *file = sh_reference_open("spectra");
    size_t n = 0;
    const double *f = sh_reference_get(file, "line_f", &n);
    double top = 0.0;
    for (size_t i = 0; i < n; i++) {
        top = fmax(top, f[i]);
    }
    struct sh_multitaper *multitaper = NULL;
    run_multitaper(sh_reference_get(file, "x", NULL), false, &multitaper);
    struct sh_multitaper_line line;
    assert_int_equal(sh_multitaper_find_line(multitaper, 4.0, 15.0, &line), SH_OK);
    sh_reference_row("harmonic F of a line at 8.3 Hz", "NumPy", top, line.f, 1e-9 * top);
    sh_reference_row("frequency of that line, Hz", "made with it", 8.3, line.frequency_hz.value,
                     2.0 * line.frequency_hz.u);
    sh_multitaper_close(&multitaper);
    sh_reference_close(&file);
}

/* 2 sin(2 pi 12.5 t) + 0.5 cos(2 pi 25 t): peak 2^2 / 2 / (1.5 bins), integral 2 + 1/8. */
static void test_welch_closed_form(void **state)
{
    double x[1024];
    for (size_t i = 0; i < 1024; i++) {
        double t = (double)i / 100.0;
        x[i] = 2.0 * sin(2.0 * SH_PI * 12.5 * t) + 0.5 * cos(2.0 * SH_PI * 25.0 * t);
    }
    const struct sh_welch_config config = {.n_segment = 256, .n_overlap = 128};
    struct sh_welch *welch = NULL;
    assert_int_equal(sh_welch_open(&config, &welch, NULL), SH_OK);
    const struct sh_welch_series series = {.x = x, .n = 1024, .rate_hz = 100.0};
    struct sh_psd psd;
    assert_int_equal(sh_welch_run(welch, &series, &psd), SH_OK);
    double power = 0.0;
    assert_int_equal(sh_psd_get_power(&psd, 0.0, 50.0, &power), SH_OK);
    sh_reference_row("Welch peak at 12.5 Hz", "closed form", 2.0 / 1.5 * 256.0 / 100.0,
                     psd.power[32], 1e-12);
    sh_reference_row("Welch peak at 12.5 Hz, as printed", "3.41333333", 3.41333333,
                     psd.power[32], 5e-9);
    sh_reference_row("Welch integral", "closed form", 2.125, power, 1e-12);
    sh_welch_close(&welch);
}

static void check_welch(const struct sh_reference_file *file,
                        const char *name,
                        double level,
                        bool removes_mean)
{
    const double *x = sh_reference_get(file, "x", NULL);
    double raised[800];
    for (size_t i = 0; i < 800; i++) {
        raised[i] = x[i] + level;
    }
    const struct sh_welch_config config = {256, 128, removes_mean};
    struct sh_welch *welch = NULL;
    assert_int_equal(sh_welch_open(&config, &welch, NULL), SH_OK);
    const struct sh_welch_series series = {.x = raised, .n = 800, .rate_hz = RATE_HZ};
    struct sh_psd psd;
    assert_int_equal(sh_welch_run(welch, &series, &psd), SH_OK);
    size_t n = 0;
    const double *expected = sh_reference_get(file, name, &n);
    assert_int_equal(n, psd.n_bins);
    sh_reference_series(name, "SciPy", expected, psd.power, n, SERIES_TOLERANCE);
    sh_welch_close(&welch);
}

static void test_welch(void **state)
{
    struct sh_reference_file *file = sh_reference_open("spectra");
    check_welch(file, "welch", 0.0, false);
    check_welch(file, "welch_mean_off", 3.0, true);
    const struct sh_welch_config config = {256, 128, true};
    struct sh_welch *welch = NULL;
    assert_int_equal(sh_welch_open(&config, &welch, NULL), SH_OK);
    const struct sh_welch_series series = {.x = sh_reference_get(file, "x", NULL),
                                           .y = sh_reference_get(file, "y", NULL),
                                           .n = 800,
                                           .rate_hz = RATE_HZ};
    double got[129];
    assert_int_equal(sh_welch_get_coherence(welch, &series, got), SH_OK);
    const double *expected = sh_reference_get(file, "coherence", NULL);
    sh_reference_series("coherence", "SciPy", expected, got, 129, SERIES_TOLERANCE);
    sh_welch_close(&welch);
    sh_reference_close(&file);
}

static void test_envelope(void **state)
{
    struct sh_reference_file *file = sh_reference_open("spectra");
    double amplitude[800];
    double phase[800];
    for (size_t n = 799; n <= 800; n++) {
        struct sh_envelope *envelope = NULL;
        char name[32];
        (void)snprintf(name, sizeof(name), "envelope_%zu", n);
        assert_int_equal(sh_envelope_open(n, &envelope, NULL), SH_OK);
        assert_int_equal(
            sh_envelope_run(envelope, sh_reference_get(file, "x", NULL), amplitude, phase),
            SH_OK);
        sh_reference_series(name, "SciPy", sh_reference_get(file, name, NULL), amplitude, n,
                            SERIES_TOLERANCE);
        if (n == 799) {
            sh_reference_series("phase_799", "SciPy", sh_reference_get(file, "phase_799", NULL),
                                phase, n, SERIES_TOLERANCE);
        }
        sh_envelope_close(&envelope);
    }
    sh_reference_close(&file);
}

/* NIST certifies three periods in one series; the yearly one stands apart from the others. */
static void test_enso(void **state)
{
    struct sh_reference_file *file = sh_reference_open("enso");
    size_t n = 0;
    const double *pressure = sh_reference_get(file, "pressure", &n);
    double x[168];
    assert_int_equal(n, 168);
    assert_int_equal(sh_detrend_line(pressure, NULL, n, x), SH_OK);
    const struct sh_multitaper_config config = {
        .n_max = 168, .nw = 2.0, .k = 3, .n_fft = 16384};
    struct sh_multitaper *multitaper = NULL;
    assert_int_equal(sh_multitaper_open(&config, &multitaper, NULL), SH_OK);
    const struct sh_multitaper_window window = {.x = x, .n = n, .rate_hz = 1.0};
    assert_int_equal(sh_multitaper_run(multitaper, &window), SH_OK);
    struct sh_psd psd;
    struct sh_psd_peak peak;
    struct sh_multitaper_line line;
    assert_int_equal(sh_multitaper_get_psd(multitaper, &psd), SH_OK);
    assert_int_equal(sh_psd_find_peak(&psd, 0.05, 0.45, &peak), SH_OK);
    assert_int_equal(sh_multitaper_find_line(multitaper, 0.05, 0.45, &line), SH_OK);
    sh_reference_row("ENSO yearly line, months", "NIST StRD ENSO, certified", 12.0,
                     1.0 / line.frequency_hz.value, 0.06);
    sh_reference_row("ENSO highest point, cycles a month", "NIST StRD ENSO, certified",
                     1.0 / 12.0, peak.frequency_hz.value, peak.frequency_hz.u);
    sh_reference_row("ENSO yearly line, chance of noise", "certified to be there", 0.0,
                     line.p_value, 0.01);
    sh_multitaper_close(&multitaper);
    sh_reference_close(&file);
}

static void test_ecg_spectrum(void **state)
{
    struct sh_reference_file *file = sh_reference_open("ecg");
    size_t n = 0;
    const double *x = sh_reference_get(file, "x", &n);
    const struct sh_welch_config config = {720, 360, true};
    struct sh_welch *welch = NULL;
    assert_int_equal(sh_welch_open(&config, &welch, NULL), SH_OK);
    const struct sh_welch_series series = {.x = x, .n = n, .rate_hz = 360.0};
    struct sh_psd psd;
    assert_int_equal(sh_welch_run(welch, &series, &psd), SH_OK);
    size_t n_bins = 0;
    const double *expected = sh_reference_get(file, "welch", &n_bins);
    assert_int_equal(n_bins, psd.n_bins);
    sh_reference_series("spectrum of an electrocardiogram", "SciPy", expected, psd.power,
                        n_bins, SERIES_TOLERANCE);
    sh_welch_close(&welch);
    sh_reference_close(&file);
}

/* An electroencephalogram, whose 10-13 Hz rhythm nobody here made. */
static void test_eeg(void **state)
{
    struct sh_reference_file *file = sh_reference_open("eeg");
    size_t n = 0;
    const double *counts = sh_reference_get(file, "x", &n);
    double x[7680];
    assert_int_equal(n, 7680);
    assert_int_equal(sh_detrend_line(counts, NULL, n, x), SH_OK);
    const struct sh_multitaper_config config = {
        .n_max = 7680, .nw = 8.0, .k = 15, .n_fft = 16384};
    struct sh_multitaper *multitaper = NULL;
    assert_int_equal(sh_multitaper_open(&config, &multitaper, NULL), SH_OK);
    const struct sh_multitaper_window window = {.x = x, .n = n, .rate_hz = 256.0};
    assert_int_equal(sh_multitaper_run(multitaper, &window), SH_OK);
    struct sh_psd psd;
    struct sh_psd_peak peak;
    assert_int_equal(sh_multitaper_get_psd(multitaper, &psd), SH_OK);
    assert_int_equal(sh_psd_find_peak(&psd, 8.0, 14.0, &peak), SH_OK);
    assert_false(peak.is_edge);
    sh_reference_row("electroencephalogram's rhythm, Hz", "SciPy, Welch, bins of 0.5 Hz",
                     sh_reference_get(file, "peak_hz", NULL)[0], peak.frequency_hz.value, 0.5);
    sh_multitaper_close(&multitaper);
    sh_reference_close(&file);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_concentrations),    cmocka_unit_test(test_tapers),
        cmocka_unit_test(test_multitaper),        cmocka_unit_test(test_line),
        cmocka_unit_test(test_welch_closed_form), cmocka_unit_test(test_welch),
        cmocka_unit_test(test_envelope),          cmocka_unit_test(test_enso),
        cmocka_unit_test(test_ecg_spectrum),      cmocka_unit_test(test_eeg),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
