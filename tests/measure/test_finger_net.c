/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "measure/finger_net.h"

#include <math.h>

#include "measure/made.h"
#include "measure/made_fingers.h"
#include "support/cmocka_all.h"
#include "support/near.h"

#define RATE_HZ 500.0

/* The rest before the preload, not the preload itself. */
static void test_rest_is_found_before_the_preload(void **state)
{
    const struct made_fingers fingers = made_fingers_default();
    struct made made;
    struct sh_finger_net net;
    made_fingers_open(&made, &fingers, RATE_HZ);
    sh_finger_net_find(&made.scene, &net);
    for (size_t k = 0; k < SH_FINGER_NET_COUNT; k++) {
        assert_int_equal(net.finger[k].why, SH_WHY_KNOWN);
        assert_near(net.finger[k].rest_n, 2.5, 1e-12, 0.0);
        /* Nothing moves: one count of 0.01 N is what is left. */
        assert_near(net.finger[k].noise_n, 0.01 / sqrt(12.0), 0.0, 1e-9);
        assert_near(net.finger[k].rest_u_n, 0.01 / sqrt(12.0) / sqrt(125.0), 0.0, 1e-9);
    }
    made_close(&made);
}

/* A string that is never quite free before the draw: a third of what is left for each. */
static void test_what_is_left_counts_in_the_uncertainty(void **state)
{
    const struct made_fingers fingers = made_fingers_default();
    struct made made;
    struct sh_finger_net net;
    made_fingers_open(&made, &fingers, RATE_HZ);
    for (size_t i = 0; i < made.view.force.n_frames; i++) {
        made.net_n[i] += 3.0;
    }
    sh_finger_net_find(&made.scene, &net);
    assert_near(net.finger[1].rest_u_n, 1.0, 0.0, 0.001);
    made_close(&made);
}

static void test_noise_is_the_largest_of_three(void **state)
{
    const struct made_fingers fingers = made_fingers_default();
    struct made made;
    struct sh_finger_net net;
    made_fingers_open(&made, &fingers, RATE_HZ);
    made.stream[0].channel[0].noise = 0.2;
    made.stream[0].channel[1].is_physical = true;
    sh_finger_net_find(&made.scene, &net);
    assert_near(net.finger[0].noise_n, 0.2, 0.0, 1e-12);
    assert_near(net.finger[1].noise_n, 0.0, 1e-12, 0.0);
    const size_t n = made.view.stream[0].n_frames;
    for (size_t i = 0; i < n; i++) {
        made.samples[0][3 * n + i] += i % 2 == 0 ? 0.5 : -0.5;
    }
    sh_finger_net_find(&made.scene, &net);
    assert_near(net.finger[2].noise_n, 0.5, 0.0, 0.01);
    assert_near(sh_finger_net_u(&net.finger[0], 50.0, 4.0), hypot(0.1, net.finger[0].rest_u_n),
                0.0, 1e-9);
    made.stream[0].channel[0].scale_u = 0.0001; /* 1 % */
    assert_near(sh_finger_net_u(&net.finger[0], 50.0, 4.0),
                hypot(hypot(0.1, net.finger[0].rest_u_n), 0.5), 0.0, 1e-9);
    made_close(&made);
}

/* A flag every fifth of a second. */
static void
flag_every_fifth(struct made *made, double from_s, double until_s, unsigned char flag)
{
    const int n = (int)ceil((until_s - from_s) / 0.2);
    for (int i = 0; i < n; i++) {
        made->flags[0][made_frame(made, 0, from_s + 0.2 * i)] = flag;
    }
}

static void test_gaps_are_stepped_over(void **state)
{
    const struct made_fingers fingers = made_fingers_default();
    struct made made;
    struct sh_finger_net net;
    made_fingers_open(&made, &fingers, RATE_HZ);
    flag_every_fifth(&made, MADE_FROM_S + 0.1, 2.0, SH_SHOT_FLAG_FILLED);
    sh_finger_net_find(&made.scene, &net); /* 2.0 to 2.5 s is left */
    assert_int_equal(net.finger[0].why, SH_WHY_KNOWN);
    assert_near(net.finger[0].rest_n, 2.5, 1e-12, 0.0);
    flag_every_fifth(&made, 2.0, MADE_DRAW_START_S, SH_SHOT_FLAG_CLIPPED);
    sh_finger_net_find(&made.scene, &net);
    assert_true(net.finger[0].why == SH_WHY_GAP || net.finger[0].why == SH_WHY_CLIPPED);
    made_close(&made);
}

static void test_reasons(void **state)
{
    const struct made_fingers fingers = made_fingers_default();
    struct made made;
    struct sh_finger_net net;
    made_fingers_open(&made, &fingers, RATE_HZ);
    made.stream[0].channel[2].finger = SH_FINGER_NONE; /* no ring finger */
    sh_finger_net_find(&made.scene, &net);
    assert_int_equal(net.finger[0].why, SH_WHY_KNOWN);
    assert_int_equal(net.finger[2].why, SH_WHY_NO_CHANNEL);
    assert_int_equal(sh_finger_net_span(&made.scene, &net.finger[2], 5.0, 6.0).why,
                     SH_WHY_NO_CHANNEL);
    const struct sh_span span = sh_finger_net_span(&made.scene, &net.finger[1], 6.0, 6.01);
    double net_n[8];
    assert_int_equal(span.n, 5);
    sh_finger_net_copy(&net.finger[1], &span, net_n);
    assert_near(net_n[4], 70.0, 1e-9, 0.0);
    made.scene.workspace->n_scratch = 100;
    assert_int_equal(sh_finger_net_span(&made.scene, &net.finger[1], 6.0, 6.21).why,
                     SH_WHY_UNRESOLVED);
    sh_finger_net_find(&made.scene, &net);
    assert_int_equal(net.finger[0].why, SH_WHY_UNRESOLVED);
    made.shot.event_s[SH_EVENT_DRAW_START].value = MADE_FROM_S + 0.24;
    sh_finger_net_find(&made.scene, &net);
    assert_int_equal(net.finger[0].why, SH_WHY_TOO_SHORT);
    made.shot.event_s[SH_EVENT_DRAW_START] = sh_quantity_unknown(SH_WHY_NOT_SEEN);
    sh_finger_net_find(&made.scene, &net);
    assert_int_equal(net.finger[0].why, SH_WHY_NOT_SEEN);
    made_close(&made);
}

/* A curved sensor's noise grows with the load, a straight one's is that of its rest. */
static void test_noise_under_load(void **state)
{
    const struct made_fingers fingers = made_fingers_default();
    struct made made;
    struct sh_finger_net net;
    made_fingers_open(&made, &fingers, RATE_HZ);
    const size_t n = made.view.stream[0].n_frames;
    for (size_t i = made_frame(&made, 0, MADE_FULL_DRAW_S); i < n; i++) {
        made.samples[0][n + i] += i % 2 == 0 ? 0.2 : -0.2;
    }
    sh_finger_net_find(&made.scene, &net);
    assert_near(net.finger[0].loaded_noise_n, net.finger[0].noise_n, 0.0, 1e-12);
    struct sh_channel *channel = &made.stream[0].channel[0];
    channel->curve[0] = (struct sh_curve_point){0.0, 0.0, 0.0};
    channel->curve[1] = (struct sh_curve_point){10000.0, 100.0, 0.0};
    channel->n_curve = 2;
    sh_finger_net_find(&made.scene, &net);
    assert_near(net.finger[0].loaded_noise_n, 0.4 / sqrt(2.0), 0.0, 0.02);
    assert_near(sh_finger_net_u(&net.finger[0], 50.0, 4.0), 0.2 / sqrt(2.0), 0.0, 0.02);
    made_close(&made);
}

/* A tenth of the drift that has grown since the load came, half way through the draw. */
static void test_load_drift_counts(void **state)
{
    const struct made_fingers fingers = made_fingers_default();
    struct made made;
    struct sh_finger_net net;
    made_fingers_open(&made, &fingers, RATE_HZ);
    made.stream[0].channel[1].load_drift_ratio = 0.05;
    made.stream[0].channel[1].load_drift_time_s = 2.0;
    const double loaded_s = 0.5 * (MADE_DRAW_START_S + MADE_FULL_DRAW_S);
    sh_finger_net_find(&made.scene, &net);
    assert_near(sh_finger_net_drift_u_ratio(&net.finger[0], 6.0), 0.0, 0.0, 0.0);
    assert_near(sh_finger_net_drift_u_ratio(&net.finger[1], loaded_s + 2.0),
                0.005 * (1.0 - exp(-1.0)), 0.0, 1e-9);
    assert_near(sh_finger_net_drift_u_ratio(&net.finger[1], 3.0), 0.0, 0.0, 0.0);
    assert_near(sh_finger_net_u(&net.finger[1], 70.0, 1e12),
                hypot(0.35, net.finger[1].rest_u_n), 0.0, 1e-6);
    made_close(&made);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_noise_under_load),
        cmocka_unit_test(test_load_drift_counts),
        cmocka_unit_test(test_rest_is_found_before_the_preload),
        cmocka_unit_test(test_what_is_left_counts_in_the_uncertainty),
        cmocka_unit_test(test_noise_is_the_largest_of_three),
        cmocka_unit_test(test_gaps_are_stepped_over),
        cmocka_unit_test(test_reasons),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
