/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "measure/bow_ring.h"

#include <math.h>

#include "base/units.h"
#include "measure/made.h"
#include "signal/hand_arm.h"
#include "support/cmocka_all.h"
#include "support/near.h"

#define SHOCK_S (MADE_RELEASE_S + 0.01)

/* A decaying sine that begins with the shock. */
static double ring(double t_s, double amplitude, double f_hz, double damping)
{
    const double since_s = t_s - SHOCK_S;
    const double w = 2.0 * SH_PI * f_hz;
    return since_s < 0.0 ? 0.0
                         : amplitude * exp(-damping * w * since_s) *
                               cos(w * sqrt(1.0 - damping * damping) * since_s);
}

/*
 * Axis x rings at 60 Hz, axis y at 150 Hz: larger at first, smaller 20 ms later. Axis z holds
 * gravity, and at the shock one sample of 300 m/s^2 more.
 */
static double get_bow(const void *context, double t_s, size_t k)
{
    const double rate_hz = *(const double *)context;
    if (k == 0) {
        return 0.5 + ring(t_s, 100.0, 60.0, 0.05);
    }
    if (k == 1) {
        return ring(t_s, 150.0, 150.0, 0.1);
    }
    const bool is_shock = fabs(t_s - SHOCK_S) < 0.49 / rate_hz;
    return SH_UNITS_G0_M_S2 + (is_shock ? 300.0 : 0.0);
}

static void open_bow(struct made *made, const double *rate_hz)
{
    const struct made_config config = {
        .rate_hz = 100.0, .bow_rate_hz = *rate_hz, .bow = {get_bow, rate_hz}};
    made_open(made, &config);
}

static const struct sh_quantity *get(const struct sh_measures *measures, enum sh_measure which)
{
    return sh_catalog_get(measures, which, 0);
}

static void test_the_mode_that_lasts_is_the_ring(void **state)
{
    static const double rates_hz[] = {3200.0, 1000.0};
    for (size_t i = 0; i < 2; i++) {
        struct made made;
        struct sh_measures measures = {0};
        open_bow(&made, &rates_hz[i]);
        sh_bow_ring_measure(&made.scene, &measures);
        assert_near(get(&measures, SH_MEASURE_RING)->value, 60.0, 0.02, 0.0);
        assert_near(get(&measures, SH_MEASURE_RING_DAMPING)->value, 0.05, 0.0005, 0.0);
        made_close(&made);
    }
}

static void test_the_peak_is_the_magnitude_without_gravity(void **state)
{
    static const double rate_hz = 3200.0;
    struct made made;
    struct sh_measures measures = {0};
    open_bow(&made, &rate_hz);
    for (size_t k = 0; k < 3; k++) {
        made.stream[MADE_BOW].channel[k].scale_u = 0.0001; /* 1 % of 0.01 */
    }
    sh_bow_ring_measure(&made.scene, &measures);
    const struct sh_quantity *peak = get(&measures, SH_MEASURE_VIBRATION_PEAK);
    /* looked for between the samples: a blow that begins at once overshoots there by 0.1 % */
    assert_near(peak->value, sqrt(100.0 * 100.0 + 150.0 * 150.0 + 300.0 * 300.0), 0.0, 0.002);
    const double calibration =
        0.01 / peak->value * sqrt(pow(100.0, 4) + pow(150.0, 4) + pow(300.0, 4));
    assert_true(peak->u > calibration && peak->u < 0.15 * peak->value);
    assert_int_equal(measures.vibration_clipped, SH_ANSWER_NO);
    made_close(&made);
}

/* 700 Hz at 3200 Hz: 4.6 samples a turn, the phase such that no sample meets the peak of 80. */
static double get_between(const void *context, double t_s, size_t k)
{
    const double since_s = t_s - MADE_RELEASE_S - 0.05;
    const double slow = exp(-since_s * since_s / (2.0 * 0.001 * 0.001));
    return k == 0 ? 80.0 * slow * cos(2.0 * SH_PI * 700.0 * since_s) : 0.0;
}

static void test_a_peak_between_samples_is_found(void **state)
{
    struct made made;
    struct sh_measures measures = {0};
    const struct made_config config = {
        .rate_hz = 100.0, .bow_rate_hz = 3200.0, .bow = {get_between, NULL}};
    made_open(&made, &config);
    const struct sh_shot_stream *view = &made.view.stream[MADE_BOW];
    double largest = 0.0;
    for (size_t i = 0; i < view->n_frames; i++) {
        made.samples[MADE_BOW][view->n_frames + i] =
            get_between(NULL, view->time_s[i] + 0.5 / 3200.0, 0);
        largest = fmax(largest, view->value[0][i]);
    }
    sh_bow_ring_measure(&made.scene, &measures);
    const struct sh_quantity *peak = get(&measures, SH_MEASURE_VIBRATION_PEAK);
    assert_true(largest < 77.0);
    assert_near(peak->value, 80.0, 0.5, 0.0);
    assert_true(peak->u >= 0.02 * 80.0 * 0.99);
    made_close(&made);
}

/* The sensor's clock is 1000 ppm fast: what it counts as 3200 samples takes 0.999 s. */
static void test_the_ring_is_read_by_the_recordings_clock(void **state)
{
    static const double rate_hz = 3200.0;
    struct made made;
    struct sh_measures measures = {0};
    struct sh_anchor anchors[2] = {{0, 0.0, 1e-4}, {32000, 9.99, 1e-4}};
    const struct sh_timebase timebase = {
        .rate_hz = rate_hz, .anchors = anchors, .n_anchors = 2, .capacity = 2};
    open_bow(&made, &rate_hz);
    sh_bow_ring_measure(&made.scene, &measures);
    const struct sh_quantity before = *get(&measures, SH_MEASURE_RING);
    struct sh_shot_stream *view = &made.view.stream[MADE_BOW];
    for (size_t i = 0; i < view->n_frames; i++) {
        const double since_s = made.samples[MADE_BOW][i] - MADE_RELEASE_S;
        made.samples[MADE_BOW][i] = MADE_RELEASE_S + 0.999 * since_s;
    }
    view->timebase = &timebase;
    view->reading = SH_TIMEBASE_BETWEEN;
    sh_bow_ring_measure(&made.scene, &measures);
    const struct sh_quantity *after = get(&measures, SH_MEASURE_RING);
    assert_near(after->value, before.value / 0.999, 0.0, 1e-5);
    /* two anchors of 0.1 ms in 10 s: 14 ppm */
    assert_near(after->u, hypot(before.u, 1.4142e-5 * before.value), 0.0, 0.01);
    made_close(&made);
}

static void test_a_clipped_peak_is_a_lower_bound(void **state)
{
    static const double rate_hz = 3200.0;
    struct made made;
    struct sh_measures measures = {0};
    open_bow(&made, &rate_hz);
    made.flags[MADE_BOW][made_frame(&made, MADE_BOW, SHOCK_S)] = SH_SHOT_FLAG_CLIPPED;
    sh_bow_ring_measure(&made.scene, &measures);
    assert_int_equal(get(&measures, SH_MEASURE_VIBRATION_PEAK)->why, SH_WHY_KNOWN);
    assert_int_equal(measures.vibration_clipped, SH_ANSWER_YES);
    assert_int_equal(get(&measures, SH_MEASURE_RING)->why, SH_WHY_KNOWN);
    assert_int_equal(get(&measures, SH_MEASURE_HAND_VIBRATION)->why, SH_WHY_CLIPPED);
    made.flags[MADE_BOW][made_frame(&made, MADE_BOW, SHOCK_S + 0.03)] = SH_SHOT_FLAG_CLIPPED;
    sh_bow_ring_measure(&made.scene, &measures);
    assert_int_equal(get(&measures, SH_MEASURE_RING)->why, SH_WHY_CLIPPED);
    made.flags[MADE_BOW][made_frame(&made, MADE_BOW, SHOCK_S + 0.03)] = SH_SHOT_FLAG_FILLED;
    sh_bow_ring_measure(&made.scene, &measures);
    assert_int_equal(get(&measures, SH_MEASURE_RING_DAMPING)->why, SH_WHY_GAP);
    assert_int_equal(get(&measures, SH_MEASURE_VIBRATION_PEAK)->why, SH_WHY_GAP);
    assert_int_equal(measures.vibration_clipped, SH_ANSWER_UNKNOWN);
    made_close(&made);
}

/* Only what lies within 0.1 s counts for the peak. */
static double get_late_shock(const void *context, double t_s, size_t k)
{
    const double late_s = *(const double *)context;
    return k == 0 && fabs(t_s - MADE_RELEASE_S - late_s) < 2e-4 ? 50.0 : 0.0;
}

static void test_the_peaks_window(void **state)
{
    static const double late_s[] = {0.099, 0.101};
    static const double expected[] = {50.0, 0.0};
    for (size_t i = 0; i < 2; i++) {
        struct made made;
        struct sh_measures measures = {0};
        const struct made_config config = {
            .rate_hz = 100.0, .bow_rate_hz = 1000.0, .bow = {get_late_shock, &late_s[i]}};
        made_open(&made, &config);
        sh_bow_ring_measure(&made.scene, &measures);
        assert_near(get(&measures, SH_MEASURE_VIBRATION_PEAK)->value, expected[i], 1e-9, 0.0);
        assert_int_equal(get(&measures, SH_MEASURE_RING)->why, SH_WHY_NOT_SEEN);
        made_close(&made);
    }
}

/* The swing of the bow, 2 Hz, is no ringing. */
static double get_swing(const void *context, double t_s, size_t k)
{
    const double since_s = fmax(t_s - MADE_RELEASE_S, 0.0);
    return k == 0 ? 30.0 * sin(2.0 * SH_PI * 2.0 * since_s) + 2.0 * ring(t_s, 1.0, 45.0, 0.03)
                  : 0.0;
}

static void test_the_swing_is_no_ring(void **state)
{
    struct made made;
    struct sh_measures measures = {0};
    const struct made_config config = {
        .rate_hz = 100.0, .bow_rate_hz = 1000.0, .bow = {.get = get_swing}};
    made_open(&made, &config);
    sh_bow_ring_measure(&made.scene, &measures);
    assert_near(get(&measures, SH_MEASURE_RING)->value, 45.0, 0.5, 0.0);
    made_close(&made);
}

/* 50 Hz of 2 m/s^2 on each axis from the release on: sqrt(3) times the weighted rms of one. */
static double get_hum(const void *context, double t_s, size_t k)
{
    const double since_s = t_s - MADE_RELEASE_S;
    return since_s > 0.0 ? 2.0 * sin(2.0 * SH_PI * 50.0 * since_s) : 0.0;
}

static void test_hand_vibration_is_weighted(void **state)
{
    struct made made;
    struct sh_measures measures = {0};
    const struct made_config config = {
        .rate_hz = 100.0, .bow_rate_hz = 4000.0, .bow = {.get = get_hum}};
    made_open(&made, &config);
    sh_bow_ring_measure(&made.scene, &measures);
    const struct sh_quantity *hand = get(&measures, SH_MEASURE_HAND_VIBRATION);
    const double expected = sqrt(3.0) * 2.0 * sqrt(0.5) * sh_hand_arm_get_gain(50.0);
    assert_near(hand->value, expected, 0.0, 0.025);
    assert_near(hand->u, 0.0018 * hand->value, 0.0, 1e-9);
    for (size_t k = 0; k < 3; k++) {
        made.stream[MADE_BOW].channel[k].scale_u = 0.0002; /* 2 % each, apart */
    }
    sh_bow_ring_measure(&made.scene, &measures);
    assert_near(hand->u, hypot(0.0018, 0.02 / sqrt(3.0)) * hand->value, 0.0, 1e-6);
    made.stream[MADE_BOW].n_channels = 2;
    sh_bow_ring_measure(&made.scene, &measures);
    assert_int_equal(hand->why, SH_WHY_NO_CHANNEL);
    assert_int_equal(get(&measures, SH_MEASURE_VIBRATION_PEAK)->why, SH_WHY_KNOWN);
    made_close(&made);
}

static void test_limits_of_the_rate(void **state)
{
    static const struct {
        double rate_hz;
        enum sh_why ring;
        enum sh_why hand;
    } rows[] = {{199.0, SH_WHY_TOO_SLOW, SH_WHY_TOO_SLOW},
                {200.0, SH_WHY_KNOWN, SH_WHY_TOO_SLOW},
                {2499.0, SH_WHY_KNOWN, SH_WHY_TOO_SLOW},
                {2500.0, SH_WHY_KNOWN, SH_WHY_KNOWN}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct made made;
        struct sh_measures measures = {0};
        open_bow(&made, &rows[i].rate_hz);
        sh_bow_ring_measure(&made.scene, &measures);
        assert_int_equal(get(&measures, SH_MEASURE_RING)->why, rows[i].ring);
        assert_int_equal(get(&measures, SH_MEASURE_HAND_VIBRATION)->why, rows[i].hand);
        made_close(&made);
    }
}

static void test_reasons(void **state)
{
    static const double rate_hz = 3200.0;
    struct made made;
    struct sh_measures measures = {0};
    open_bow(&made, &rate_hz);
    made.shot.event_s[SH_EVENT_RELEASE].value = MADE_UNTIL_S - 0.99;
    sh_bow_ring_measure(&made.scene, &measures);
    assert_int_equal(get(&measures, SH_MEASURE_HAND_VIBRATION)->why, SH_WHY_TOO_SHORT);
    made.shot.event_s[SH_EVENT_RELEASE].value = MADE_FROM_S + 0.54;
    sh_bow_ring_measure(&made.scene, &measures);
    assert_int_equal(get(&measures, SH_MEASURE_VIBRATION_PEAK)->why, SH_WHY_TOO_SHORT);
    made.shot.kind = SH_SHOT_LET_DOWN;
    sh_bow_ring_measure(&made.scene, &measures);
    assert_int_equal(get(&measures, SH_MEASURE_RING)->why, SH_WHY_NOT_APPLICABLE);
    assert_int_equal(measures.vibration_clipped, SH_ANSWER_UNKNOWN);
    made.view.n_streams = 1;
    sh_bow_ring_measure(&made.scene, &measures);
    assert_int_equal(get(&measures, SH_MEASURE_HAND_VIBRATION)->why, SH_WHY_NO_CHANNEL);
    made_close(&made);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_the_mode_that_lasts_is_the_ring),
        cmocka_unit_test(test_the_peak_is_the_magnitude_without_gravity),
        cmocka_unit_test(test_a_peak_between_samples_is_found),
        cmocka_unit_test(test_the_ring_is_read_by_the_recordings_clock),
        cmocka_unit_test(test_a_clipped_peak_is_a_lower_bound),
        cmocka_unit_test(test_the_peaks_window),
        cmocka_unit_test(test_the_swing_is_no_ring),
        cmocka_unit_test(test_hand_vibration_is_weighted),
        cmocka_unit_test(test_limits_of_the_rate),
        cmocka_unit_test(test_reasons),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
