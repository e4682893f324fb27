/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "measure/finger_share.h"

#include <math.h>

#include "measure/made.h"
#include "measure/made_fingers.h"
#include "support/cmocka_all.h"
#include "support/near.h"

static void measure(struct made *made, struct sh_measures *measures)
{
    struct sh_finger_net net;
    sh_finger_net_find(&made->scene, &net);
    sh_finger_share_measure(&made->scene, &net, measures);
}

static const struct sh_quantity *
get(const struct sh_measures *measures, enum sh_measure which, size_t part)
{
    return sh_catalog_get(measures, which, part);
}

static void test_shares_of_a_steady_hold(void **state)
{
    const struct made_fingers fingers = made_fingers_default();
    static const double rates_hz[] = {1000.0, 80.0};
    for (size_t i = 0; i < 2; i++) {
        struct made made;
        struct sh_measures measures = {0};
        made_fingers_open(&made, &fingers, rates_hz[i]);
        measure(&made, &measures);
        for (size_t k = 0; k < 3; k++) {
            assert_near(get(&measures, SH_MEASURE_FINGER_SHARE, k)->value,
                        fingers.hold_n[k] / 180.0, 1e-9, 0.0);
            assert_near(get(&measures, SH_MEASURE_FINGER_SHARE_CHANGE, k)->value, 0.0, 1e-9,
                        0.0);
        }
        assert_int_equal(get(&measures, SH_MEASURE_FINGER_SLIDE, 0)->why, SH_WHY_NOT_SEEN);
        made_close(&made);
    }
}

/* The ring finger gives 14.4 N, 0.08 of 180 N, to the index between 6 and 7 s. */
static void test_a_slide_of_known_size(void **state)
{
    struct made_fingers fingers = made_fingers_default();
    struct made made;
    struct sh_measures measures = {0};
    fingers.slide_n = 14.4;
    made_fingers_open(&made, &fingers, 500.0);
    measure(&made, &measures);
    assert_near(get(&measures, SH_MEASURE_FINGER_SHARE_CHANGE, 0)->value, 0.08, 1e-9, 0.0);
    assert_near(get(&measures, SH_MEASURE_FINGER_SHARE_CHANGE, 1)->value, 0.0, 1e-9, 0.0);
    assert_near(get(&measures, SH_MEASURE_FINGER_SHARE_CHANGE, 2)->value, -0.08, 1e-9, 0.0);
    const struct sh_quantity *slide = get(&measures, SH_MEASURE_FINGER_SLIDE, 0);
    assert_int_equal(slide->why, SH_WHY_KNOWN);
    assert_near(slide->value, 6.0, 0.015, 0.0);
    made_close(&made);
}

static void test_the_limit_of_a_slide(void **state)
{
    static const double slides_n[] = {10.75, 10.85}; /* 0.0597, 0.0603 */
    static const enum sh_why expected[] = {SH_WHY_NOT_SEEN, SH_WHY_KNOWN};
    for (size_t i = 0; i < 2; i++) {
        struct made_fingers fingers = made_fingers_default();
        struct made made;
        struct sh_measures measures = {0};
        fingers.slide_n = slides_n[i];
        made_fingers_open(&made, &fingers, 500.0);
        measure(&made, &measures);
        assert_int_equal(get(&measures, SH_MEASURE_FINGER_SLIDE, 0)->why, expected[i]);
        made_close(&made);
    }
}

/* An error e of one finger's calibration moves its share by s (1 - s) e, the others' by s t e.
 */
static void test_calibration_of_one_finger(void **state)
{
    struct made_fingers fingers = made_fingers_default();
    struct made made;
    struct sh_measures without = {0};
    struct sh_measures with = {0};
    fingers.slide_n = 14.4;
    made_fingers_open(&made, &fingers, 500.0);
    measure(&made, &without);
    made.stream[0].channel[2].scale_u = 0.0003; /* 3 % */
    measure(&made, &with);
    const double s = get(&with, SH_MEASURE_FINGER_SHARE, 2)->value;
    const double t = get(&with, SH_MEASURE_FINGER_SHARE, 0)->value;
    const double ring_u = get(&without, SH_MEASURE_FINGER_SHARE, 2)->u;
    const double index_u = get(&without, SH_MEASURE_FINGER_SHARE, 0)->u;
    assert_near(get(&with, SH_MEASURE_FINGER_SHARE, 2)->u, hypot(ring_u, 0.03 * s * (1.0 - s)),
                0.0, 1e-6);
    assert_near(get(&with, SH_MEASURE_FINGER_SHARE, 0)->u, hypot(index_u, 0.03 * s * t), 0.0,
                1e-6);
    /* Of the change only s (1 - s) late less early. */
    const double late = 50.0 / 180.0 - 0.08;
    const double early = 50.0 / 180.0;
    const double moved = 0.03 * (late * (1.0 - late) - early * (1.0 - early));
    const double change_u = get(&without, SH_MEASURE_FINGER_SHARE_CHANGE, 2)->u;
    assert_near(get(&with, SH_MEASURE_FINGER_SHARE_CHANGE, 2)->u, hypot(change_u, moved), 0.0,
                1e-6);
    made_close(&made);
}

/* White noise of 2 N on each finger, at rest too. */
static void add_noise(struct made *made, struct sh_random *random)
{
    const size_t n = made->view.stream[0].n_frames;
    for (size_t i = 0; i < n; i++) {
        for (size_t c = 1; c <= 3; c++) {
            made->samples[0][c * n + i] += 2.0 * sh_random_get_normal(random);
        }
    }
}

/* Noise of each finger's own: the stated uncertainty of a change is the spread seen. */
static void test_noisy_shares(void **state)
{
    const struct made_fingers fingers = made_fingers_default();
    struct sh_random random;
    double sum2 = 0.0;
    double stated = 0.0;
    sh_random_init(&random, 9);
    for (int shot = 0; shot < 150; shot++) {
        struct made made;
        struct sh_measures measures = {0};
        made_fingers_open(&made, &fingers, 100.0);
        add_noise(&made, &random);
        measure(&made, &measures);
        const struct sh_quantity *change = get(&measures, SH_MEASURE_FINGER_SHARE_CHANGE, 2);
        assert_int_equal(change->why, SH_WHY_KNOWN);
        sum2 += change->value * change->value / 150.0;
        stated += change->u / 150.0;
        made_close(&made);
    }
    assert_near(stated, sqrt(sum2), 0.0, 0.2);
}

static void test_reasons(void **state)
{
    const struct made_fingers fingers = made_fingers_default();
    struct made made;
    struct sh_measures measures = {0};
    const struct sh_quantity *share = get(&measures, SH_MEASURE_FINGER_SHARE, 1);
    const struct sh_quantity *change = get(&measures, SH_MEASURE_FINGER_SHARE_CHANGE, 1);
    const struct sh_quantity *slide = get(&measures, SH_MEASURE_FINGER_SLIDE, 0);
    made_fingers_open(&made, &fingers, 500.0);
    made.shot.event_s[SH_EVENT_RELEASE].value = MADE_FULL_DRAW_S + 0.497;
    measure(&made, &measures);
    assert_int_equal(share->why, SH_WHY_KNOWN);
    assert_int_equal(change->why, SH_WHY_TOO_SHORT);
    assert_int_equal(slide->why, SH_WHY_TOO_SHORT);
    made.shot.event_s[SH_EVENT_RELEASE].value = MADE_FULL_DRAW_S + 0.5;
    measure(&made, &measures);
    assert_int_equal(change->why, SH_WHY_KNOWN);
    made.flags[0][made_frame(&made, 0, 5.3)] = SH_SHOT_FLAG_CLIPPED;
    measure(&made, &measures);
    assert_int_equal(share->why, SH_WHY_CLIPPED);
    made.shot.kind = SH_SHOT_LET_DOWN;
    measure(&made, &measures);
    assert_int_equal(share->why, SH_WHY_NOT_APPLICABLE);
    made.stream[0].channel[0].finger = SH_FINGER_NONE;
    measure(&made, &measures);
    assert_int_equal(share->why, SH_WHY_NO_CHANNEL);
    assert_int_equal(slide->why, SH_WHY_NO_CHANNEL);
    made_close(&made);
}

static void test_unloaded_fingers_have_no_share(void **state)
{
    struct made_fingers fingers = made_fingers_default();
    struct made made;
    struct sh_measures measures = {0};
    for (size_t k = 0; k < 3; k++) {
        fingers.hold_n[k] = 0.3;
    }
    made_fingers_open(&made, &fingers, 500.0);
    measure(&made, &measures);
    assert_int_equal(get(&measures, SH_MEASURE_FINGER_SHARE, 0)->why, SH_WHY_UNRESOLVED);
    made_close(&made);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_shares_of_a_steady_hold),
        cmocka_unit_test(test_a_slide_of_known_size),
        cmocka_unit_test(test_the_limit_of_a_slide),
        cmocka_unit_test(test_calibration_of_one_finger),
        cmocka_unit_test(test_noisy_shares),
        cmocka_unit_test(test_reasons),
        cmocka_unit_test(test_unloaded_fingers_have_no_share),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
