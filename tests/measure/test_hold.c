/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "measure/hold.h"

#include <math.h>

#include "measure/made.h"
#include "support/cmocka_all.h"
#include "support/near.h"

/* 180 N at full draw and 2 N/s from there to the release, then nothing. */
static double get_rise(const void *context, double t_s, size_t k)
{
    if (t_s < MADE_FULL_DRAW_S) {
        return fmax(0.0, 180.0 * (t_s - MADE_DRAW_START_S));
    }
    return t_s < MADE_RELEASE_S ? 180.0 + 2.0 * (t_s - MADE_FULL_DRAW_S) : 0.0;
}

static double get_level(const void *context, double t_s, size_t k)
{
    return t_s < MADE_RELEASE_S ? 180.0 : 0.0;
}

static const struct sh_quantity *get(const struct sh_measures *measures,
                                     enum sh_measure measure)
{
    return sh_catalog_get(measures, measure, 0);
}

static void check(const struct sh_measures *measures, enum sh_measure measure, double expected)
{
    assert_int_equal(get(measures, measure)->why, SH_WHY_KNOWN);
    assert_near(get(measures, measure)->value, expected, 1e-9, 0.0);
}

static void open_rise(struct made *made, double rate_hz)
{
    const struct made_config config = {.rate_hz = rate_hz, .force = {.get = get_rise}};
    made_open(made, &config);
}

static void test_times_between_the_events(void **state)
{
    struct made made;
    struct sh_measures measures = {0};
    open_rise(&made, 1000.0);
    made.shot.event_s[SH_EVENT_FULL_DRAW].u = 0.012;
    made.shot.event_s[SH_EVENT_RELEASE].u = 0.005;
    sh_hold_measure(&made.scene, &measures);
    check(&measures, SH_MEASURE_DRAW_TIME, 1.0);
    check(&measures, SH_MEASURE_HOLD_TIME, 3.15);
    check(&measures, SH_MEASURE_EXPANSION_TIME, 3.0);
    check(&measures, SH_MEASURE_CLICKER_REACTION, 0.15);
    assert_near(get(&measures, SH_MEASURE_HOLD_TIME)->u, 0.013, 1e-12, 0.0);
    assert_near(get(&measures, SH_MEASURE_CLICKER_REACTION)->u, 0.005, 1e-12, 0.0);
    made_close(&made);
}

/* Middles of the windows' samples: 8.0995 and 8.12, 8.149 and so on are the last ones. */
static void test_forces_of_a_rising_hold(void **state)
{
    struct made made;
    struct sh_measures measures = {0};
    open_rise(&made, 1000.0);
    sh_hold_measure(&made.scene, &measures);
    check(&measures, SH_MEASURE_HOLD_FORCE, 180.0 + 0.5 * 2.0 * 3.099);
    check(&measures, SH_MEASURE_PEAK_FORCE, 180.0 + 2.0 * (3.130 + 3.149) / 2.0);
    check(&measures, SH_MEASURE_RELEASE_FORCE, 180.0 + 2.0 * (3.120 + 3.149) / 2.0);
    const double click_n = 2.0 * (2.950 + 2.999) / 2.0;
    const double anchor_n = 2.0 * (0.350 + 0.549) / 2.0;
    check(&measures, SH_MEASURE_EXPANSION, (click_n - anchor_n) / 410.0);
    made_close(&made);
}

static void test_a_slow_sensor_still_shows_them(void **state)
{
    struct made made;
    struct sh_measures measures = {0};
    open_rise(&made, 80.0);
    sh_hold_measure(&made.scene, &measures);
    assert_near(get(&measures, SH_MEASURE_HOLD_FORCE)->value, 183.1, 0.03, 0.0);
    assert_near(get(&measures, SH_MEASURE_PEAK_FORCE)->value, 186.28, 0.03, 0.0);
    assert_near(get(&measures, SH_MEASURE_RELEASE_FORCE)->value, 186.27, 0.03, 0.0);
    made_close(&made);
    open_rise(&made, 20.0); /* 20 ms is under half a sample, 30 ms may fall between two */
    made.shot.event_s[SH_EVENT_RELEASE].value = 8.17;
    sh_hold_measure(&made.scene, &measures);
    assert_int_equal(get(&measures, SH_MEASURE_PEAK_FORCE)->why, SH_WHY_TOO_SLOW);
    assert_int_equal(get(&measures, SH_MEASURE_RELEASE_FORCE)->why, SH_WHY_TOO_SLOW);
    assert_int_equal(get(&measures, SH_MEASURE_HOLD_FORCE)->why, SH_WHY_KNOWN);
    made_close(&made);
}

static void test_uncertainties_by_parts(void **state)
{
    struct made made;
    struct sh_measures measures = {0};
    open_rise(&made, 1000.0);
    made.view.force.noise_n = 0.3;
    made.view.force.scale_u_ratio = 0.001;
    made.shot.rest_n.u = 0.05;
    made.shot.event_s[SH_EVENT_RELEASE].u = 0.002;
    made.shot.event_s[SH_EVENT_FULL_DRAW].u = 0.02;
    sh_hold_measure(&made.scene, &measures);
    /* 300 samples of the slope lie within 0.3 N of its median, all 30 before the release. */
    const double median = sqrt(2.0 / sqrt(3.14159265));
    /* The median moves with half of either event: 1 N/s. */
    assert_near(get(&measures, SH_MEASURE_HOLD_FORCE)->u,
                sqrt(pow(0.3 * median, 2) / 300.0 + pow(0.1831, 2) + 0.0025 + 4e-6 + 4e-4), 0.0,
                0.002);
    assert_near(get(&measures, SH_MEASURE_RELEASE_FORCE)->u,
                sqrt(pow(0.3 * median, 2) / 30.0 + pow(0.18627, 2) + 0.0025 + 16e-6), 0.0,
                0.002);
    made_close(&made);
}

/* 300 shots of 0.5 N noise on a level hold: what is stated is what is seen. */
static void test_stated_uncertainty_is_the_spread_seen(void **state)
{
    struct sh_random random;
    sh_random_init(&random, 11);
    double sum[3] = {0.0};
    double sum2[3] = {0.0};
    double stated[3] = {0.0};
    static const enum sh_measure which[3] = {SH_MEASURE_HOLD_FORCE, SH_MEASURE_RELEASE_FORCE,
                                             SH_MEASURE_PEAK_FORCE};
    const struct made_config config = {
        .rate_hz = 500.0, .force = {.get = get_level}, .noise_n = 0.5, .random = &random};
    const double n = 300.0;
    for (int shot = 0; shot < 300; shot++) {
        struct made made;
        struct sh_measures measures = {0};
        made_open(&made, &config);
        sh_hold_measure(&made.scene, &measures);
        for (size_t i = 0; i < 3; i++) {
            const double error_n = get(&measures, which[i])->value - 180.0;
            sum[i] += error_n / n;
            sum2[i] += error_n * error_n / n;
            stated[i] += get(&measures, which[i])->u / n;
        }
        made_close(&made);
    }
    /* 300 shots know a spread to 4 %; three of that. */
    assert_near(sqrt(sum2[0]), stated[0], 0.0, 0.12);
    /* the release's also holds where its window ends, which is tried out on the noise itself */
    assert_true(stated[1] > sqrt(sum2[1]) && stated[1] < 1.3 * sqrt(sum2[1]));
    assert_near(sum[0], 0.0, 0.003, 0.0);
    /* The largest mean is too large; that bias counts whole, and is stated within a fifth. */
    assert_true(sum[2] > 0.3);
    assert_true(stated[2] > sum[2] && stated[2] < 1.2 * sum[2]);
}

static void test_windows_that_do_not_fit(void **state)
{
    struct made made;
    struct sh_measures measures = {0};
    open_rise(&made, 1000.0);
    made.shot.event_s[SH_EVENT_CLICKER].value = MADE_FULL_DRAW_S + 0.549;
    sh_hold_measure(&made.scene, &measures);
    assert_int_equal(get(&measures, SH_MEASURE_EXPANSION)->why, SH_WHY_TOO_SHORT);
    made.shot.event_s[SH_EVENT_CLICKER].value = MADE_FULL_DRAW_S + 0.55;
    sh_hold_measure(&made.scene, &measures);
    assert_int_equal(get(&measures, SH_MEASURE_EXPANSION)->why, SH_WHY_KNOWN);
    made.shot.event_s[SH_EVENT_RELEASE].value = MADE_FULL_DRAW_S + 0.05;
    sh_hold_measure(&made.scene, &measures);
    assert_int_equal(get(&measures, SH_MEASURE_HOLD_FORCE)->why, SH_WHY_TOO_SHORT);
    made.shot.event_s[SH_EVENT_RELEASE].value = MADE_FULL_DRAW_S + 0.0195;
    sh_hold_measure(&made.scene, &measures);
    assert_int_equal(get(&measures, SH_MEASURE_PEAK_FORCE)->why, SH_WHY_KNOWN);
    made.shot.event_s[SH_EVENT_RELEASE].value = MADE_FULL_DRAW_S + 0.019;
    sh_hold_measure(&made.scene, &measures);
    assert_int_equal(get(&measures, SH_MEASURE_PEAK_FORCE)->why, SH_WHY_TOO_SHORT);
    made_close(&made);
}

static void test_reasons_reach_the_measures(void **state)
{
    struct made made;
    struct sh_measures measures = {0};
    open_rise(&made, 1000.0);
    made.flags[0][made_frame(&made, 0, 8.13)] = SH_SHOT_FLAG_CLIPPED;
    sh_hold_measure(&made.scene, &measures);
    assert_int_equal(get(&measures, SH_MEASURE_RELEASE_FORCE)->why, SH_WHY_CLIPPED);
    assert_int_equal(get(&measures, SH_MEASURE_PEAK_FORCE)->why, SH_WHY_CLIPPED);
    assert_int_equal(get(&measures, SH_MEASURE_HOLD_FORCE)->why, SH_WHY_KNOWN);
    made.flags[0][made_frame(&made, 0, 6.0)] = SH_SHOT_FLAG_FILLED;
    sh_hold_measure(&made.scene, &measures);
    assert_int_equal(get(&measures, SH_MEASURE_HOLD_FORCE)->why, SH_WHY_GAP);
    assert_int_equal(get(&measures, SH_MEASURE_EXPANSION)->why, SH_WHY_KNOWN);
    made.scene.bow = NULL;
    made.shot.event_s[SH_EVENT_CLICKER] = sh_quantity_unknown(SH_WHY_NO_CHANNEL);
    sh_hold_measure(&made.scene, &measures);
    assert_int_equal(get(&measures, SH_MEASURE_EXPANSION)->why, SH_WHY_NO_CHANNEL);
    assert_int_equal(get(&measures, SH_MEASURE_EXPANSION_TIME)->why, SH_WHY_NO_CHANNEL);
    made.shot.kind = SH_SHOT_LET_DOWN;
    sh_hold_measure(&made.scene, &measures);
    assert_int_equal(get(&measures, SH_MEASURE_DRAW_TIME)->why, SH_WHY_KNOWN);
    assert_int_equal(get(&measures, SH_MEASURE_HOLD_TIME)->why, SH_WHY_NOT_APPLICABLE);
    assert_int_equal(get(&measures, SH_MEASURE_HOLD_FORCE)->why, SH_WHY_NOT_APPLICABLE);
    assert_int_equal(get(&measures, SH_MEASURE_RELEASE_FORCE)->why, SH_WHY_NOT_APPLICABLE);
    made_close(&made);
}

static void test_without_force_only_times_remain(void **state)
{
    struct made made;
    struct sh_measures measures = {0};
    open_rise(&made, 1000.0);
    made.view.force.is_present = false;
    sh_hold_measure(&made.scene, &measures);
    assert_int_equal(get(&measures, SH_MEASURE_PEAK_FORCE)->why, SH_WHY_NO_CHANNEL);
    assert_int_equal(get(&measures, SH_MEASURE_HOLD_TIME)->why, SH_WHY_KNOWN);
    made_close(&made);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_times_between_the_events),
        cmocka_unit_test(test_forces_of_a_rising_hold),
        cmocka_unit_test(test_a_slow_sensor_still_shows_them),
        cmocka_unit_test(test_uncertainties_by_parts),
        cmocka_unit_test(test_stated_uncertainty_is_the_spread_seen),
        cmocka_unit_test(test_windows_that_do_not_fit),
        cmocka_unit_test(test_reasons_reach_the_measures),
        cmocka_unit_test(test_without_force_only_times_remain),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
