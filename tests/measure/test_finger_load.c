/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "measure/finger_load.h"

#include <math.h>

#include "measure/made.h"
#include "measure/made_fingers.h"
#include "support/cmocka_all.h"
#include "support/near.h"

static void measure(struct made *made, struct sh_measures *measures)
{
    struct sh_finger_net net;
    sh_finger_net_find(&made->scene, &net);
    sh_finger_load_measure(&made->scene, &net, measures);
}

static const struct sh_quantity *
get(const struct sh_measures *measures, enum sh_measure which, size_t part)
{
    return sh_catalog_get(measures, which, part);
}

/* Draw from a tenth to the whole in 1 s, 3.15 s of hold, half of the 4 ms fall before. */
static void test_impulse_and_peak_of_a_known_shot(void **state)
{
    const struct made_fingers fingers = made_fingers_default();
    static const double rates_hz[] = {1000.0, 80.0};
    for (size_t i = 0; i < 2; i++) {
        struct made made;
        struct sh_measures measures = {0};
        made_fingers_open(&made, &fingers, rates_hz[i]);
        measure(&made, &measures);
        for (size_t k = 0; k < 3; k++) {
            const double impulse_n_s = fingers.hold_n[k] * (0.55 + 3.15);
            assert_near(get(&measures, SH_MEASURE_FINGER_IMPULSE, k)->value, impulse_n_s, 0.0,
                        0.002);
            assert_near(get(&measures, SH_MEASURE_FINGER_PEAK, k)->value, fingers.hold_n[k],
                        1e-9, 0.0);
        }
        made_close(&made);
    }
}

/* 90 % of the hold value in 1 s. */
static void test_load_rate_of_a_straight_draw(void **state)
{
    const struct made_fingers fingers = made_fingers_default();
    static const double rates_hz[] = {1000.0, 80.0};
    for (size_t i = 0; i < 2; i++) {
        struct made made;
        struct sh_measures measures = {0};
        made_fingers_open(&made, &fingers, rates_hz[i]);
        measure(&made, &measures);
        for (size_t k = 0; k < 3; k++) {
            assert_near(get(&measures, SH_MEASURE_FINGER_LOAD_RATE, k)->value,
                        0.9 * fingers.hold_n[k], 0.0, 1e-6);
        }
        made_close(&made);
    }
}

static void test_a_let_down_has_an_impulse_to_its_end(void **state)
{
    const struct made_fingers fingers = made_fingers_default();
    struct made made;
    struct sh_measures measures = {0};
    made_fingers_open(&made, &fingers, 1000.0);
    made.shot.kind = SH_SHOT_LET_DOWN;
    measure(&made, &measures);
    assert_near(get(&measures, SH_MEASURE_FINGER_IMPULSE, 1)->value, 70.0 * 3.7, 0.0, 1e-3);
    assert_int_equal(get(&measures, SH_MEASURE_FINGER_PEAK, 1)->why, SH_WHY_NOT_APPLICABLE);
    assert_int_equal(get(&measures, SH_MEASURE_FINGER_LOAD_RATE, 1)->why,
                     SH_WHY_NOT_APPLICABLE);
    made.shot.event_s[SH_EVENT_END] = sh_quantity_unknown(SH_WHY_NOT_SEEN);
    measure(&made, &measures);
    assert_int_equal(get(&measures, SH_MEASURE_FINGER_IMPULSE, 1)->why, SH_WHY_NOT_SEEN);
    made_close(&made);
}

static void test_uncertainties_by_parts(void **state)
{
    const struct made_fingers fingers = made_fingers_default();
    struct made made;
    struct sh_measures measures = {0};
    made_fingers_open(&made, &fingers, 1000.0);
    made.stream[0].channel[0].noise = 0.5;
    made.stream[0].channel[0].scale_u = 0.0002; /* 2 % */
    made.shot.event_s[SH_EVENT_RELEASE].u = 0.01;
    measure(&made, &measures);
    const double rest_u_n = 0.5 / sqrt(250.0);
    const struct sh_quantity *peak = get(&measures, SH_MEASURE_FINGER_PEAK, 0);
    assert_near(peak->u, sqrt(0.25 / 20.0 + rest_u_n * rest_u_n + 1.2 * 1.2), 0.0, 1e-6);
    /* The release at half the fall: 30 N times 10 ms; the draw start at a tenth, exact. */
    const struct sh_quantity *impulse = get(&measures, SH_MEASURE_FINGER_IMPULSE, 0);
    const double length_s = MADE_RELEASE_S - MADE_DRAW_START_S;
    const double expected = sqrt(pow(0.02 * impulse->value, 2) + pow(rest_u_n * length_s, 2) +
                                 pow(0.5 * length_s / sqrt(4150.0), 2) + pow(30.0 * 0.01, 2));
    assert_near(impulse->u, expected, 0.0, 1e-3);
    const struct sh_quantity *rate = get(&measures, SH_MEASURE_FINGER_LOAD_RATE, 0);
    const double rise_s = 0.6 / 0.9;
    assert_near(rate->u, hypot(sqrt(2.0) * 0.5 / sqrt(20.0) / rise_s, 0.02 * 54.0), 0.0, 1e-3);
    made_close(&made);
}

static void test_load_rates_that_cannot_be_had(void **state)
{
    struct made_fingers fingers = made_fingers_default();
    struct made made;
    struct sh_measures measures = {0};
    fingers.hold_n[2] = 0.9; /* a finger that hardly touches */
    made_fingers_open(&made, &fingers, 1000.0);
    const struct sh_quantity *index = get(&measures, SH_MEASURE_FINGER_LOAD_RATE, 0);
    const struct sh_quantity *ring = get(&measures, SH_MEASURE_FINGER_LOAD_RATE, 2);
    measure(&made, &measures);
    assert_int_equal(index->why, SH_WHY_KNOWN);
    assert_int_equal(ring->why, SH_WHY_NOT_SEEN);
    /* At 4.15 s more than 20 % are drawn already. */
    made.shot.event_s[SH_EVENT_DRAW_START].value = 4.15;
    measure(&made, &measures);
    assert_int_equal(index->why, SH_WHY_UNRESOLVED);
    made_close(&made);
}

static void test_reasons_of_each_finger(void **state)
{
    const struct made_fingers fingers = made_fingers_default();
    struct made made;
    struct sh_measures measures = {0};
    made_fingers_open(&made, &fingers, 20.0);
    measure(&made, &measures);
    assert_int_equal(get(&measures, SH_MEASURE_FINGER_PEAK, 0)->why, SH_WHY_TOO_SLOW);
    assert_int_equal(get(&measures, SH_MEASURE_FINGER_LOAD_RATE, 0)->why, SH_WHY_TOO_SLOW);
    assert_int_equal(get(&measures, SH_MEASURE_FINGER_IMPULSE, 0)->why, SH_WHY_KNOWN);
    made_close(&made);
    made_fingers_open(&made, &fingers, 1000.0);
    made.flags[0][made_frame(&made, 0, 4.5)] = SH_SHOT_FLAG_FILLED;
    made.stream[0].channel[1].finger = SH_FINGER_NONE;
    measure(&made, &measures);
    assert_int_equal(get(&measures, SH_MEASURE_FINGER_PEAK, 0)->why, SH_WHY_GAP);
    assert_int_equal(get(&measures, SH_MEASURE_FINGER_IMPULSE, 0)->why, SH_WHY_GAP);
    assert_int_equal(get(&measures, SH_MEASURE_FINGER_LOAD_RATE, 0)->why, SH_WHY_GAP);
    assert_int_equal(get(&measures, SH_MEASURE_FINGER_IMPULSE, 1)->why, SH_WHY_NO_CHANNEL);
    made.shot.event_s[SH_EVENT_RELEASE] = sh_quantity_unknown(SH_WHY_UNRESOLVED);
    measure(&made, &measures);
    assert_int_equal(get(&measures, SH_MEASURE_FINGER_PEAK, 0)->why, SH_WHY_UNRESOLVED);
    made_close(&made);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_impulse_and_peak_of_a_known_shot),
        cmocka_unit_test(test_load_rate_of_a_straight_draw),
        cmocka_unit_test(test_a_let_down_has_an_impulse_to_its_end),
        cmocka_unit_test(test_uncertainties_by_parts),
        cmocka_unit_test(test_load_rates_that_cannot_be_had),
        cmocka_unit_test(test_reasons_of_each_finger),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
