/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Filters against SciPy and NumPy, and the hand-arm weighting against its standard. */
#include <math.h>
#include <stdio.h>

#include "signal/biquad.h"
#include "signal/gauss.h"
#include "signal/hand_arm.h"
#include "signal/savgol.h"
#include "support/cmocka_all.h"
#include "support/reference.h"

#define SERIES_TOLERANCE 1e-9 /* of the peak */
#define RATE_HZ          1000.0
#define N_IMPULSE        400u

static void make_filter(enum sh_biquad_kind kind,
                        size_t order,
                        double low_hz,
                        double high_hz,
                        struct sh_biquad_design *out)
{
    const struct sh_biquad_config config = {.kind = kind,
                                            .order = order,
                                            .rate_hz = RATE_HZ,
                                            .corner_hz = low_hz,
                                            .corner_high_hz = high_hz};
    assert_int_equal(sh_biquad_make(&config, out, NULL), SH_OK);
}

/* Butterworth, 4th order, 20 Hz at 1000 Hz. */
static void test_sections(void **state)
{
    const double expected[2][5] = {{1.32937288987529e-05, 2.65874577975058e-05,
                                    1.32937288987529e-05, -1.77831348813943, 0.792447471832947},
                                   {1.0, 2.0, 1.0, -1.8934156010225, 0.90846441294925}};
    const char *const names[5] = {"b0", "b1", "b2", "a1", "a2"};
    struct sh_biquad_design design;
    make_filter(SH_BIQUAD_LOWPASS, 4, 20.0, 0.0, &design);
    assert_int_equal(design.n_sections, 2);
    for (size_t i = 0; i < 2; i++) {
        const struct sh_biquad_section *s = &design.section[i];
        const double got[5] = {s->b0, s->b1, s->b2, s->a1, s->a2};
        for (size_t k = 0; k < 5; k++) {
            char check[64];
            (void)snprintf(check, sizeof(check), "Butterworth 4, 20 Hz: section %zu %s", i,
                           names[k]);
            sh_reference_row(check, "SciPy, to 13 digits", expected[i][k], got[k],
                             1e-13 * fabs(expected[i][k]));
        }
    }
}

/* Two passes: divide the pre-warped corner by these. */
static void test_two_pass_factors(void **state)
{
    const double expected[2] = {0.802243263, 0.895680335};
    for (size_t i = 0; i < 2; i++) {
        const size_t order = 2 * (i + 1);
        double factor = pow(sqrt(2.0) - 1.0, 0.5 / (double)order);
        const struct sh_biquad_config config = {.kind = SH_BIQUAD_LOWPASS,
                                                .order = order,
                                                .rate_hz = RATE_HZ,
                                                .corner_hz = 20.0,
                                                .for_two_passes = true};
        struct sh_biquad_design design;
        assert_int_equal(sh_biquad_make(&config, &design, NULL), SH_OK);
        char check[64];
        (void)snprintf(check, sizeof(check), "two-pass corner factor, order %zu", order);
        sh_reference_row(check, "two passes, gain^4 = 1/2", expected[i], factor, 5e-10);
        double gain = sh_biquad_get_gain(&design, 20.0, RATE_HZ);
        (void)snprintf(check, sizeof(check), "gain of two passes at the corner, order %zu",
                       order);
        sh_reference_row(check, "-3 dB", sqrt(0.5), gain * gain, 1e-12);
    }
}

static void check_impulse(const struct sh_reference_file *file,
                          const char *name,
                          const struct sh_biquad_design *design)
{
    double impulse[N_IMPULSE] = {1.0};
    double got[N_IMPULSE];
    struct sh_biquad filter;
    sh_biquad_init(&filter, design);
    assert_int_equal(sh_biquad_push(&filter, impulse, N_IMPULSE, got), SH_OK);
    sh_reference_series(name, "SciPy", sh_reference_get(file, name, NULL), got, N_IMPULSE,
                        SERIES_TOLERANCE);
}

static void test_impulses(void **state)
{
    struct sh_reference_file *file = sh_reference_open("filters");
    const size_t low[] = {1, 2, 3, 4, 5, 8};
    const size_t high[] = {1, 2, 3, 4, 7};
    struct sh_biquad_design design;
    char name[32];
    for (size_t i = 0; i < sizeof(low) / sizeof(low[0]); i++) {
        (void)snprintf(name, sizeof(name), "lowpass_%zu_20", low[i]);
        make_filter(SH_BIQUAD_LOWPASS, low[i], 20.0, 0.0, &design);
        check_impulse(file, name, &design);
    }
    for (size_t i = 0; i < sizeof(high) / sizeof(high[0]); i++) {
        (void)snprintf(name, sizeof(name), "highpass_%zu_5", high[i]);
        make_filter(SH_BIQUAD_HIGHPASS, high[i], 5.0, 0.0, &design);
        check_impulse(file, name, &design);
    }
    for (size_t order = 1; order <= 4; order++) {
        (void)snprintf(name, sizeof(name), "bandpass_%zu_25", order);
        make_filter(SH_BIQUAD_BANDPASS, order, 2.0, 25.0, &design);
        check_impulse(file, name, &design);
    }
    for (size_t order = 1; order <= 3; order += 2) {
        (void)snprintf(name, sizeof(name), "bandpass_%zu_400", order);
        make_filter(SH_BIQUAD_BANDPASS, order, 100.0, 400.0, &design);
        check_impulse(file, name, &design);
    }
    sh_reference_close(&file);
}

static void test_both_ways(void **state)
{
    struct sh_reference_file *file = sh_reference_open("filters");
    const size_t lengths[5][2] = {{7, 6}, {8, 7}, {33, 0}, {200, 60}, {800, 799}};
    const char *const kinds[2] = {"low", "band"};
    struct sh_biquad_design designs[2];
    double work[800 + 2 * 799];
    double got[800];
    make_filter(SH_BIQUAD_LOWPASS, 4, 20.0, 0.0, &designs[0]);
    make_filter(SH_BIQUAD_BANDPASS, 3, 2.0, 25.0, &designs[1]);
    for (size_t i = 0; i < 5; i++) {
        for (size_t k = 0; k < 2; k++) {
            char name[32];
            (void)snprintf(name, sizeof(name), "both_ways_%s_%zu", kinds[k], lengths[i][0]);
            const struct sh_biquad_span span = {sh_reference_get(file, "x", NULL),
                                                lengths[i][0], lengths[i][1]};
            assert_int_equal(sh_biquad_filter_both_ways(&designs[k], &span, work, got), SH_OK);
            sh_reference_series(name, "SciPy", sh_reference_get(file, name, NULL), got,
                                lengths[i][0], SERIES_TOLERANCE);
        }
    }
    sh_reference_close(&file);
}

static void test_savgol(void **state)
{
    struct sh_reference_file *file = sh_reference_open("filters");
    const struct sh_savgol_config configs[] = {{5, 2, 0}, {11, 3, 0},  {11, 3, 1}, {21, 4, 2},
                                               {7, 6, 0}, {101, 5, 1}, {1, 0, 0}};
    const struct sh_savgol_series series = {sh_reference_get(file, "x", NULL), 250, RATE_HZ};
    double work[101];
    double got[250];
    for (size_t i = 0; i < sizeof(configs) / sizeof(configs[0]); i++) {
        char name[32];
        (void)snprintf(name, sizeof(name), "savgol_%zu_%zu_%zu", configs[i].n_window,
                       configs[i].order, configs[i].derivative);
        assert_int_equal(sh_savgol_filter(&configs[i], &series, work, got), SH_OK);
        sh_reference_series(name, "SciPy", sh_reference_get(file, name, NULL), got, 250,
                            SERIES_TOLERANCE);
    }
    sh_reference_close(&file);
}

static void test_gauss(void **state)
{
    struct sh_reference_file *file = sh_reference_open("filters");
    const double *x = sh_reference_get(file, "x", NULL);
    struct sh_gauss *gauss = NULL;
    double got[300];
    assert_int_equal(sh_gauss_open(12.5, &gauss, NULL), SH_OK);
    assert_int_equal(sh_gauss_smooth(gauss, x, 300, got), SH_OK);
    sh_reference_series("gauss_value", "NumPy", sh_reference_get(file, "gauss_value", NULL),
                        got, 300, SERIES_TOLERANCE);
    assert_int_equal(sh_gauss_slope(gauss, x, 300, 1.0, got), SH_OK);
    sh_reference_series("gauss_slope", "NumPy", sh_reference_get(file, "gauss_slope", NULL),
                        got, 300, SERIES_TOLERANCE);
    sh_gauss_close(&gauss);
    sh_reference_close(&file);
}

static void test_ecg(void **state)
{
    struct sh_reference_file *file = sh_reference_open("ecg");
    static const size_t n_samples = 3600;
    const double *x = sh_reference_get(file, "x", NULL);
    const struct sh_biquad_config config = {.kind = SH_BIQUAD_BANDPASS,
                                            .order = 2,
                                            .rate_hz = 360.0,
                                            .corner_hz = 5.0,
                                            .corner_high_hz = 25.0};
    struct sh_biquad_design design;
    double work[3600 + 2 * 360];
    double y[3600];
    double got[900];
    assert_int_equal(sh_biquad_make(&config, &design, NULL), SH_OK);
    const struct sh_biquad_span span = {x, n_samples, 360};
    assert_int_equal(sh_biquad_filter_both_ways(&design, &span, work, y), SH_OK);
    for (size_t i = 0; i < 900; i++) {
        got[i] = y[4 * i];
    }
    sh_reference_series("electrocardiogram, 5-25 Hz both ways", "SciPy",
                        sh_reference_get(file, "band", NULL), got, 900, SERIES_TOLERANCE);
    struct sh_biquad filter;
    sh_biquad_init(&filter, &design);
    assert_int_equal(sh_biquad_push(&filter, x, n_samples, y), SH_OK);
    for (size_t i = 0; i < 900; i++) {
        got[i] = y[4 * i];
    }
    sh_reference_series("electrocardiogram, 5-25 Hz causal", "SciPy",
                        sh_reference_get(file, "causal", NULL), got, 900, SERIES_TOLERANCE);
    sh_reference_close(&file);
}

static void test_hand_arm(void **state)
{
    const double table[24] = {.727,  .873,  .951,  .958,  .896,  .782,  .647,  .519,
                              .411,  .324,  .256,  .202,  .160,  .127,  .101,  .0799,
                              .0634, .0503, .0398, .0314, .0245, .0186, .0135, .00894};
    for (size_t i = 0; i < 24; i++) {
        double f_hz = pow(10.0, (double)(i + 8) / 10.0);
        char check[64];
        (void)snprintf(check, sizeof(check), "hand-arm weighting at %.4g Hz", f_hz);
        sh_reference_row(check, "ISO 5349-1 table", table[i], sh_hand_arm_get_gain(f_hz),
                         0.005 * table[i]);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_sections), cmocka_unit_test(test_two_pass_factors),
        cmocka_unit_test(test_impulses), cmocka_unit_test(test_both_ways),
        cmocka_unit_test(test_savgol),   cmocka_unit_test(test_gauss),
        cmocka_unit_test(test_ecg),      cmocka_unit_test(test_hand_arm),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
