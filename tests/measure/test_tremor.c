/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "measure/tremor.h"

#include <math.h>

#include "base/units.h"
#include "measure/made.h"
#include "support/cmocka_all.h"
#include "support/near.h"

#define HALF_ROOT 0.7071067811865476

/* Lines on a hold of 180 N that slowly rises; what changes at the ends must not matter. */
struct lines {
    double hz[3];
    double amplitude[3];
};

static double get_lines(const void *context, double t_s, size_t k)
{
    const struct lines *lines = context;
    double sum = 0.0;
    for (size_t i = 0; i < 3; i++) {
        sum += lines->amplitude[i] * sin(2.0 * SH_PI * lines->hz[i] * t_s);
    }
    return sum;
}

static double get_hold(const void *context, double t_s, size_t k)
{
    if (t_s < MADE_FULL_DRAW_S || t_s > MADE_RELEASE_S) {
        return 0.0;
    }
    return 180.0 + 0.5 * (t_s - MADE_FULL_DRAW_S) + get_lines(context, t_s, k);
}

/* Axis x at the first line, y at the second, z gravity alone. */
static double get_bow(const void *context, double t_s, size_t k)
{
    const struct lines *lines = context;
    return k == 2 ? SH_UNITS_G0_M_S2
                  : lines->amplitude[k] * sin(2.0 * SH_PI * lines->hz[k] * t_s);
}

static void measure(const struct lines *lines, double rate_hz, struct sh_measures *measures)
{
    struct made made;
    const struct made_config config = {.rate_hz = rate_hz,
                                       .force = {get_hold, lines},
                                       .bow_rate_hz = 800.0,
                                       .bow = {get_bow, lines}};
    made_open(&made, &config);
    sh_tremor_measure(&made.scene, measures);
    made_close(&made);
}

static double get(const struct sh_measures *measures, enum sh_measure which, size_t part)
{
    const struct sh_quantity *got = sh_catalog_get(measures, which, part);
    assert_int_equal(got->why, SH_WHY_KNOWN);
    return got->value;
}

/* Of lines in the middle of three bands the rms are those of the sines. */
static void test_rms_of_known_lines(void **state)
{
    static const struct lines lines = {{6.0, 10.0, 18.0}, {0.4, 0.3, 0.2}};
    static const double rates_hz[] = {1000.0, 317.0, 200.0, 80.0};
    for (size_t i = 0; i < 4; i++) {
        struct sh_measures measures = {0};
        measure(&lines, rates_hz[i], &measures);
        const double all = sqrt(0.16 + 0.09 + 0.04) * HALF_ROOT;
        assert_near(get(&measures, SH_MEASURE_TREMOR_RMS, 0), all, 0.0, 0.03);
        assert_near(get(&measures, SH_MEASURE_TREMOR_BAND, 0), 0.0, 0.02, 0.0);
        assert_near(get(&measures, SH_MEASURE_TREMOR_BAND, 1), 0.4 * HALF_ROOT, 0.0, 0.05);
        assert_near(get(&measures, SH_MEASURE_TREMOR_BAND, 2), 0.3 * HALF_ROOT, 0.0, 0.05);
        assert_near(get(&measures, SH_MEASURE_TREMOR_BAND, 3), 0.2 * HALF_ROOT, 0.0, 0.05);
        /* A line's multitaper peak is flat: within its smoothing, NW / T. */
        assert_near(get(&measures, SH_MEASURE_TREMOR_PEAK, 0), 6.0, 3.0 / 2.7, 0.0);
    }
}

static void test_what_is_fast_does_not_fold_into_it(void **state)
{
    static const struct lines lines = {{8.0, 192.0, 208.0}, {0.3, 3.0, 3.0}};
    struct sh_measures measures = {0};
    measure(&lines, 1000.0, &measures);
    assert_near(get(&measures, SH_MEASURE_TREMOR_RMS, 0), 0.3 * HALF_ROOT, 0.0, 0.03);
}

static void test_the_bows_axes_are_added(void **state)
{
    static const struct lines lines = {{6.0, 10.0, 1.0}, {0.4, 0.3, 0.0}};
    struct sh_measures measures = {0};
    measure(&lines, 500.0, &measures);
    assert_near(get(&measures, SH_MEASURE_BOW_TREMOR_RMS, 0), 0.5 * HALF_ROOT, 0.0, 0.03);
    assert_near(get(&measures, SH_MEASURE_BOW_TREMOR_BAND, 1), 0.4 * HALF_ROOT, 0.0, 0.05);
    assert_near(get(&measures, SH_MEASURE_BOW_TREMOR_BAND, 2), 0.3 * HALF_ROOT, 0.0, 0.05);
    assert_near(get(&measures, SH_MEASURE_BOW_TREMOR_PEAK, 0), 6.0, 3.0 / 2.7, 0.0);
}

/* Twice the amplitude from the middle on: the last third has twice the rms of the first. */
static double get_growing(const void *context, double t_s, size_t k)
{
    const double amplitude = t_s < 6.6 ? 0.3 : 0.6;
    return 180.0 + amplitude * sin(2.0 * SH_PI * 9.0 * t_s);
}

static void test_thirds_and_the_steady_part(void **state)
{
    struct made made;
    struct sh_measures measures = {0};
    const struct made_config config = {.rate_hz = 1000.0, .force = {.get = get_growing}};
    made_open(&made, &config);
    sh_tremor_measure(&made.scene, &measures);
    assert_near(measures.tremor_first_third_n.value, 0.3 * HALF_ROOT, 0.0, 0.08);
    assert_near(measures.tremor_last_third_n.value, 0.6 * HALF_ROOT, 0.0, 0.08);
    assert_true(measures.steady_rms_n.value > 0.3 * HALF_ROOT);
    assert_true(measures.steady_rms_n.value < 0.6 * HALF_ROOT);
    made_close(&made);
}

/* 0.2 N of white noise at 1 kHz: 0.2 sqrt(23 / 500) in the band, which is taken off. */
static void test_white_noise_is_not_taken_for_tremor(void **state)
{
    static const struct lines none = {{1.0, 1.0, 1.0}, {0.0, 0.0, 0.0}};
    struct sh_random random;
    struct made made;
    struct sh_measures measures = {0};
    sh_random_init(&random, 3);
    const struct made_config config = {
        .rate_hz = 1000.0, .force = {get_hold, &none}, .noise_n = 0.2, .random = &random};
    made_open(&made, &config);
    sh_tremor_measure(&made.scene, &measures);
    const struct sh_quantity *rms = sh_catalog_get(&measures, SH_MEASURE_TREMOR_RMS, 0);
    assert_true(rms->has_interval && rms->lo <= 0.0);
    assert_true(rms->value < 0.5 * 0.2 * sqrt(23.0 / 500.0));
    assert_true(rms->hi > 0.0 && rms->hi < 0.2 * sqrt(23.0 / 500.0));
    assert_int_equal(sh_catalog_get(&measures, SH_MEASURE_TREMOR_PEAK, 0)->why,
                     SH_WHY_NOT_SEEN);
    made_close(&made);
}

#define SHOTS 100

/* Of 100 noisy looks at one hold the limits take in the rms without noise about 95 times. */
static void test_limits_hold_what_noise_hides(void **state)
{
    static const struct lines lines = {{6.0, 9.0, 18.0}, {0.4, 0.3, 0.1}};
    struct sh_random random;
    struct made made;
    struct sh_measures truth = {0};
    struct made_config config = {.rate_hz = 200.0, .force = {get_hold, &lines}};
    size_t n_inside = 0;
    sh_random_init(&random, 8);
    made_open(&made, &config);
    sh_tremor_measure(&made.scene, &truth);
    made_close(&made);
    config.noise_n = 0.3;
    config.random = &random;
    for (size_t i = 0; i < SHOTS; i++) {
        struct sh_measures measures = {0};
        made_open(&made, &config);
        sh_tremor_measure(&made.scene, &measures);
        for (size_t k = 0; k < 4; k++) {
            const struct sh_quantity *band =
                sh_catalog_get(&measures, SH_MEASURE_TREMOR_BAND, k);
            const double true_n = sh_catalog_get(&truth, SH_MEASURE_TREMOR_BAND, k)->value;
            n_inside += true_n >= band->lo && true_n <= band->hi ? 1u : 0u;
        }
        made_close(&made);
    }
    assert_in_range(n_inside, 368, 396); /* of 400: 92 to 99 % */
}

/* A rest that was not quiet tells too much noise: the spectrum itself has less. */
static void test_noise_is_no_more_than_the_spectrum_holds(void **state)
{
    static const struct lines lines = {{6.0, 9.0, 18.0}, {0.4, 0.3, 0.1}};
    struct made made;
    struct sh_measures measures = {0};
    const struct made_config config = {.rate_hz = 200.0, .force = {get_hold, &lines}};
    made_open(&made, &config);
    made.view.force.noise_n = 1.0;
    sh_tremor_measure(&made.scene, &measures);
    assert_near(get(&measures, SH_MEASURE_TREMOR_RMS, 0), sqrt(0.5 * 0.26), 0.0, 0.02);
    made_close(&made);
}

static void test_calibration_counts(void **state)
{
    static const struct lines lines = {{6.0, 10.0, 18.0}, {0.4, 0.3, 0.2}};
    struct made made;
    struct sh_measures without = {0};
    struct sh_measures with = {0};
    const struct made_config config = {.rate_hz = 500.0, .force = {get_hold, &lines}};
    made_open(&made, &config);
    sh_tremor_measure(&made.scene, &without);
    made.view.force.scale_u_ratio = 0.3;
    sh_tremor_measure(&made.scene, &with);
    const struct sh_quantity *rms = sh_catalog_get(&with, SH_MEASURE_TREMOR_RMS, 0);
    assert_near(rms->u,
                hypot(without.quantity[SH_MEASURE_TREMOR_RMS_FIRST].u, 0.3 * rms->value), 0.0,
                1e-9);
    made_close(&made);
}

static void test_windows_and_reasons(void **state)
{
    static const struct lines lines = {{6.0, 10.0, 18.0}, {0.4, 0.3, 0.2}};
    struct made made;
    struct sh_measures measures = {0};
    const struct sh_quantity *rms = sh_catalog_get(&measures, SH_MEASURE_TREMOR_RMS, 0);
    const struct sh_quantity *bow = sh_catalog_get(&measures, SH_MEASURE_BOW_TREMOR_BAND, 3);
    const struct made_config config = {.rate_hz = 1000.0, .force = {get_hold, &lines}};
    made_open(&made, &config);
    struct sh_quantity *click = &made.shot.event_s[SH_EVENT_CLICKER];
    click->value = MADE_FULL_DRAW_S + 0.25 + 1.0 + 0.05;
    sh_tremor_measure(&made.scene, &measures);
    assert_int_equal(rms->why, SH_WHY_KNOWN);
    assert_int_equal(bow->why, SH_WHY_NO_CHANNEL);
    assert_int_equal(measures.steady_rms_n.why, SH_WHY_KNOWN);
    click->value -= 0.001;
    sh_tremor_measure(&made.scene, &measures);
    assert_int_equal(rms->why, SH_WHY_TOO_SHORT);
    assert_int_equal(measures.tremor_last_third_n.why, SH_WHY_TOO_SHORT);
    click->value = MADE_FULL_DRAW_S + 0.35 + 0.4 + 0.499;
    sh_tremor_measure(&made.scene, &measures);
    assert_int_equal(measures.steady_rms_n.why, SH_WHY_TOO_SHORT);
    *click = sh_quantity_unknown(SH_WHY_NO_CHANNEL); /* the release stands in */
    sh_tremor_measure(&made.scene, &measures);
    assert_int_equal(rms->why, SH_WHY_KNOWN);
    made.flags[0][made_frame(&made, 0, 6.5)] = SH_SHOT_FLAG_FILLED;
    sh_tremor_measure(&made.scene, &measures);
    assert_int_equal(rms->why, SH_WHY_GAP);
    assert_int_equal(measures.steady_rms_n.why, SH_WHY_GAP);
    made.shot.event_s[SH_EVENT_FULL_DRAW] = sh_quantity_unknown(SH_WHY_UNRESOLVED);
    sh_tremor_measure(&made.scene, &measures);
    assert_int_equal(rms->why, SH_WHY_UNRESOLVED);
    made.view.force.is_present = false;
    sh_tremor_measure(&made.scene, &measures);
    assert_int_equal(rms->why, SH_WHY_NO_CHANNEL);
    assert_int_equal(measures.steady_rms_n.why, SH_WHY_NO_CHANNEL);
    made_close(&made);
}

static void test_slow_streams(void **state)
{
    static const struct lines lines = {{6.0, 10.0, 18.0}, {0.4, 0.3, 0.2}};
    struct sh_measures measures = {0};
    measure(&lines, 62.5, &measures);
    assert_int_equal(sh_catalog_get(&measures, SH_MEASURE_TREMOR_RMS, 0)->why, SH_WHY_KNOWN);
    measure(&lines, 62.0, &measures);
    assert_int_equal(sh_catalog_get(&measures, SH_MEASURE_TREMOR_RMS, 0)->why, SH_WHY_TOO_SLOW);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_rms_of_known_lines),
        cmocka_unit_test(test_what_is_fast_does_not_fold_into_it),
        cmocka_unit_test(test_the_bows_axes_are_added),
        cmocka_unit_test(test_thirds_and_the_steady_part),
        cmocka_unit_test(test_white_noise_is_not_taken_for_tremor),
        cmocka_unit_test(test_limits_hold_what_noise_hides),
        cmocka_unit_test(test_noise_is_no_more_than_the_spectrum_holds),
        cmocka_unit_test(test_calibration_counts),
        cmocka_unit_test(test_windows_and_reasons),
        cmocka_unit_test(test_slow_streams),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
