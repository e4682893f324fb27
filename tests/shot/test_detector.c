/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shot/detector.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "scene.h"
#include "support/cmocka_all.h"
#include "support/near.h"

#define RATE_HZ 1000.0

struct tally {
    unsigned n_ended;
    unsigned n_gave_up;
    uint64_t first_frame[8];
    uint64_t end_frame[8];
};

static void push(struct sh_detector *detector, struct tally *tally, double force_n)
{
    const enum sh_detector_event event = sh_detector_push(detector, force_n, false);
    if (event == SH_DETECTOR_ENDED) {
        assert_true(tally->n_ended < 8);
        tally->first_frame[tally->n_ended] = detector->first_frame;
        tally->end_frame[tally->n_ended++] = detector->end_frame;
    }
    tally->n_gave_up += event == SH_DETECTOR_GAVE_UP ? 1 : 0;
}

static void push_line(struct sh_detector *detector,
                      struct tally *tally,
                      double time_s,
                      double from_n,
                      double to_n)
{
    const int n = (int)ceil(time_s * RATE_HZ);
    for (int i = 0; i < n; i++) {
        push(detector, tally, from_n + (to_n - from_n) * i / (time_s * RATE_HZ));
    }
}

static struct sh_detector start(double threshold_n)
{
    struct sh_detector detector;
    sh_detector_init(&detector, RATE_HZ, threshold_n, 0.01, 0);
    return detector;
}

static void test_finds_simulated_draws(void **state)
{
    for (uint64_t seed = 0; seed < 40; seed++) {
        struct scene scene;
        scene_make(&scene, seed % 4 == 0 ? (unsigned)SH_ARCHER_LET_DOWN : 0u, seed);
        const struct scene_sampling how = {
            .rate_hz = RATE_HZ, .lead_s = 2.0, .tail_s = 4.0, .noise_n = 0.3, .seed = seed};
        size_t n = 0;
        double *force_n = scene_sample(&scene, &how, &n);
        struct sh_detector detector = start(seed % 2 == 0 ? 20.0 : 62.3);
        struct tally tally = {0};
        for (size_t i = 0; i < n; i++) {
            push(&detector, &tally, force_n[i] - 7.0);
        }
        assert_int_equal(tally.n_ended, 1);
        assert_true((double)tally.first_frame[0] < scene_frame(&how, scene.truth.full_draw_s));
        assert_true((double)tally.end_frame[0] > scene_frame(&how, scene.signal.plan.loose_s));
        free(force_n);
    }
}

/* Threshold and time, just below and just above what the detector asks for. */
static void test_limits(void **state)
{
    static const struct {
        double force_n;
        double time_s;
        unsigned n;
    } cases[] = {{47.0, 5.0, 0}, {49.0, 5.0, 1}, {60.0, 0.239, 0}, {60.0, 0.241, 1}};
    for (size_t i = 0; i < 4; i++) {
        struct sh_detector detector = start(60.0);
        struct tally tally = {0};
        push_line(&detector, &tally, 3.0, 0.0, 0.0);
        push_line(&detector, &tally, cases[i].time_s, cases[i].force_n, cases[i].force_n);
        push_line(&detector, &tally, 3.0, 0.0, 0.0);
        assert_int_equal(tally.n_ended, cases[i].n);
    }
}

/* Drawn, let down to a preload, drawn again: two draws. A pause in mid-draw: one. */
static void test_two_draws_and_a_pause(void **state)
{
    struct sh_detector detector = start(20.0);
    struct tally tally = {0};
    push_line(&detector, &tally, 3.0, 0.0, 0.0);
    push_line(&detector, &tally, 0.5, 0.0, 30.0);
    push_line(&detector, &tally, 1.0, 30.0, 30.0);
    push_line(&detector, &tally, 1.0, 30.0, 178.0);
    push_line(&detector, &tally, 1.0, 178.0, 178.0);
    push_line(&detector, &tally, 0.6, 178.0, 30.0);
    push_line(&detector, &tally, 0.5, 30.0, 30.0);
    push_line(&detector, &tally, 0.6, 30.0, 100.0);
    push_line(&detector, &tally, 1.0, 100.0, 95.0);
    push_line(&detector, &tally, 0.6, 95.0, 178.0);
    push_line(&detector, &tally, 3.0, 178.0, 180.0);
    push_line(&detector, &tally, 3.0, 0.0, 0.0);
    assert_int_equal(tally.n_ended, 2);
    assert_int_equal(tally.n_gave_up, 0);
}

/* A weight that hangs on, or a zero that moved, is given up, and draws on top are found. */
static void test_a_new_zero(void **state)
{
    struct sh_detector detector = start(20.0);
    struct tally tally = {0};
    push_line(&detector, &tally, 3.0, 0.0, 0.0);
    push_line(&detector, &tally, 60.0, 25.0, 25.0);
    assert_int_equal(tally.n_gave_up, 1);
    assert_int_equal(tally.n_ended, 0);
    assert_near(detector.base_n, 25.0, 0.01, 0.0);
    push_line(&detector, &tally, 1.0, 25.0, 150.0);
    push_line(&detector, &tally, 2.0, 150.0, 150.0);
    push_line(&detector, &tally, 3.0, 25.0, 25.0);
    assert_int_equal(tally.n_ended, 1);
    assert_int_equal(detector.n_given_up, 1);
}

static void test_phases_for_the_live_line(void **state)
{
    struct sh_detector detector = start(20.0);
    struct tally tally = {0};
    push_line(&detector, &tally, 3.0, 0.0, 0.0);
    assert_int_equal(detector.phase, SH_DETECTOR_REST);
    assert_int_equal(detector.phase_frame, 0);
    push_line(&detector, &tally, 0.6, 0.0, 120.0);
    assert_int_equal(detector.phase, SH_DETECTOR_DRAWING);
    assert_near((double)detector.phase_frame, 3080.0, 2.0, 0.0);
    push_line(&detector, &tally, 0.4, 120.0, 178.0);
    push_line(&detector, &tally, 2.0, 178.0, 180.0);
    assert_int_equal(detector.phase, SH_DETECTOR_HOLD);
    assert_near((double)detector.phase_frame, 4200.0, 150.0, 0.0);
    assert_near(sh_detector_get_net_n(&detector), 180.0, 0.5, 0.0);
    push_line(&detector, &tally, 1.0, 0.0, 0.0);
    assert_int_equal(detector.phase, SH_DETECTOR_REST);
    assert_near(sh_detector_get_net_n(&detector), 0.0, 0.1, 0.0);
}

/* The hold's time runs from full draw, not from a pause on the way. */
static void test_a_preload_is_no_hold(void **state)
{
    struct sh_detector detector = start(20.0);
    struct tally tally = {0};
    push_line(&detector, &tally, 3.0, 0.0, 0.0);
    push_line(&detector, &tally, 1.5, 0.0, 26.0);
    push_line(&detector, &tally, 1.0, 26.0, 26.0);
    assert_int_equal(detector.phase, SH_DETECTOR_HOLD);
    push_line(&detector, &tally, 0.5, 26.0, 110.0);
    assert_int_equal(detector.phase, SH_DETECTOR_DRAWING);
    push_line(&detector, &tally, 0.4, 110.0, 176.0);
    push_line(&detector, &tally, 3.0, 176.0, 180.0); /* expanding */
    assert_int_equal(detector.phase, SH_DETECTOR_HOLD);
    assert_near((double)detector.phase_frame, 6600.0, 150.0, 0.0);
    assert_int_equal(tally.n_ended, 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_finds_simulated_draws),
        cmocka_unit_test(test_limits),
        cmocka_unit_test(test_two_draws_and_a_pause),
        cmocka_unit_test(test_a_new_zero),
        cmocka_unit_test(test_phases_for_the_live_line),
        cmocka_unit_test(test_a_preload_is_no_hold),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
