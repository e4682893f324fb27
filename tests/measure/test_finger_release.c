/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "measure/finger_release.h"

#include <math.h>

#include "measure/made.h"
#include "measure/made_fingers.h"
#include "support/cmocka_all.h"
#include "support/near.h"

static void measure(struct made *made, struct sh_measures *measures)
{
    struct sh_finger_net net;
    sh_finger_net_find(&made->scene, &net);
    sh_finger_release_measure(&made->scene, &net, measures);
}

static struct made_fingers apart(void)
{
    struct made_fingers fingers = made_fingers_default();
    fingers.half_fall_s[0] = MADE_RELEASE_S + 0.001;
    fingers.half_fall_s[1] = MADE_RELEASE_S + 0.006;
    fingers.half_fall_s[2] = MADE_RELEASE_S - 0.004;
    return fingers;
}

static void test_half_falls_at_known_times(void **state)
{
    const struct made_fingers fingers = apart();
    static const struct {
        double rate_hz;
        double within_s;
    } rows[] = {{1000.0, 0.0004}, {5000.0, 0.0004}, {200.0, 0.002}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct made made;
        struct sh_measures measures = {0};
        made_fingers_open(&made, &fingers, rows[i].rate_hz);
        measure(&made, &measures);
        for (size_t k = 0; k < 3; k++) {
            const struct sh_quantity *fall =
                sh_catalog_get(&measures, SH_MEASURE_FINGER_RELEASE, k);
            assert_int_equal(fall->why, SH_WHY_KNOWN);
            assert_near(fall->value, fingers.half_fall_s[k] - MADE_RELEASE_S, rows[i].within_s,
                        0.0);
            assert_true(fall->u > 0.0 && fall->u < 2.0 * rows[i].within_s);
        }
        const struct sh_quantity *spread =
            sh_catalog_get(&measures, SH_MEASURE_FINGER_RELEASE_SPREAD, 0);
        assert_near(spread->value, 0.010, 1.5 * rows[i].within_s, 0.0);
        made_close(&made);
    }
}

/* The release's own uncertainty is in each finger's time, not in their spread. */
static void test_the_release_cancels_in_the_spread(void **state)
{
    const struct made_fingers fingers = apart();
    struct made made;
    struct sh_measures exact = {0};
    struct sh_measures vague = {0};
    made_fingers_open(&made, &fingers, 1000.0);
    measure(&made, &exact);
    made.shot.event_s[SH_EVENT_RELEASE].u = 0.003;
    measure(&made, &vague);
    assert_near(sh_catalog_get(&vague, SH_MEASURE_FINGER_RELEASE, 0)->u,
                hypot(sh_catalog_get(&exact, SH_MEASURE_FINGER_RELEASE, 0)->u, 0.003), 0.0,
                1e-9);
    assert_near(sh_catalog_get(&vague, SH_MEASURE_FINGER_RELEASE_SPREAD, 0)->u,
                sh_catalog_get(&exact, SH_MEASURE_FINGER_RELEASE_SPREAD, 0)->u, 0.0, 1e-12);
    made_close(&made);
}

static void test_reasons(void **state)
{
    struct made_fingers fingers = apart();
    struct made made;
    struct sh_measures measures = {0};
    fingers.half_fall_s[1] = 9.9; /* stays on the string */
    made_fingers_open(&made, &fingers, 1000.0);
    const struct sh_quantity *index = sh_catalog_get(&measures, SH_MEASURE_FINGER_RELEASE, 0);
    const struct sh_quantity *middle = sh_catalog_get(&measures, SH_MEASURE_FINGER_RELEASE, 1);
    const struct sh_quantity *spread =
        sh_catalog_get(&measures, SH_MEASURE_FINGER_RELEASE_SPREAD, 0);
    measure(&made, &measures);
    assert_int_equal(index->why, SH_WHY_KNOWN);
    assert_int_equal(middle->why, SH_WHY_NOT_SEEN);
    assert_int_equal(spread->why, SH_WHY_NOT_SEEN);
    made.flags[0][made_frame(&made, 0, 8.3)] = SH_SHOT_FLAG_FILLED;
    made.stream[0].channel[1].finger = SH_FINGER_NONE;
    measure(&made, &measures);
    assert_int_equal(index->why, SH_WHY_GAP);
    assert_int_equal(middle->why, SH_WHY_NO_CHANNEL);
    assert_int_equal(spread->why, SH_WHY_GAP);
    made.flags[0][made_frame(&made, 0, 8.3)] = 0;
    made.shot.event_s[SH_EVENT_RELEASE].value = MADE_UNTIL_S - 0.1;
    measure(&made, &measures);
    assert_int_equal(index->why, SH_WHY_TOO_SHORT);
    made.shot.kind = SH_SHOT_LET_DOWN;
    measure(&made, &measures);
    assert_int_equal(index->why, SH_WHY_NOT_APPLICABLE);
    assert_int_equal(spread->why, SH_WHY_NOT_APPLICABLE);
    made_close(&made);
    made_fingers_open(&made, &fingers, 16.0);
    measure(&made, &measures);
    assert_int_equal(sh_catalog_get(&measures, SH_MEASURE_FINGER_RELEASE, 0)->why,
                     SH_WHY_TOO_SLOW);
    made_close(&made);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_half_falls_at_known_times),
        cmocka_unit_test(test_the_release_cancels_in_the_spread),
        cmocka_unit_test(test_reasons),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
