/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shot/events.h"

#include <math.h>
#include <stdlib.h>

#include "scene_view.h"
#include "support/cmocka_all.h"
#include "support/near.h"

#define REST_N 4.0

struct run {
    struct scene scene;
    struct scene_sampling how;
    struct scene_view made;
    struct sh_shot shot;
    struct sh_events_found found;
};

static void open_run(struct run *run, unsigned faults, uint64_t seed, double rate_hz)
{
    *run = (struct run){.how = {.rate_hz = rate_hz,
                                .phase = fmod(0.37 * (double)seed, 1.0),
                                .lead_s = 3.0,
                                .tail_s = 4.0,
                                .noise_n = 0.3,
                                .seed = seed}};
    scene_make(&run->scene, faults, seed);
    scene_view_open(&run->made, &run->scene, &run->how, REST_N);
}

/* A span of the samples, between two times of the plan's clock. */
static void set_span(struct run *run, double from_s, double until_s, double force_n)
{
    for (size_t i = 0; i < run->made.n; i++) {
        const double t_s = scene_time_s(&run->how, (double)i);
        if (t_s >= from_s && t_s < until_s) {
            run->made.force_n[i] = force_n;
            run->made.net_n[i] = force_n;
        }
    }
}

static void lose_span(struct run *run, double from_s, double until_s)
{
    for (size_t i = 0; i < run->made.n; i++) {
        const double t_s = scene_time_s(&run->how, (double)i);
        if (t_s >= from_s && t_s < until_s) {
            run->made.flags[i] = SH_SHOT_FLAG_FILLED;
        }
    }
}

/* Finds the events as if the detector had seen a draw up to end_s. */
static void find(struct run *run, double base_n, double threshold_n, double end_s)
{
    const struct sh_levels_span skips = {0};
    struct sh_events *events = NULL;
    const size_t n = run->made.n;
    const double end = fmin((double)n, scene_frame(&run->how, end_s));
    const struct sh_events_draw draw = {.first = n / 3,
                                        .end = (size_t)end,
                                        .base_n = base_n,
                                        .threshold_n = threshold_n,
                                        .skips = &skips};
    assert_int_equal(sh_events_open(run->how.rate_hz, n, n, &events, NULL), SH_OK);
    assert_int_equal(sh_events_find(events, &draw, &run->made.view, run->made.net_n, &run->shot,
                                    &run->found),
                     SH_OK);
    sh_events_close(&events);
    assert_null(events);
}

static void check_event(const struct run *run, enum sh_event event, double plan_s)
{
    const struct sh_quantity *time_s = &run->shot.event_s[event];
    assert_true(sh_quantity_is_known(time_s));
    assert_near(time_s->value, SCENE_VIEW_T0_S + plan_s, 0.001 + 4.0 * time_s->u, 0.0);
    assert_true(time_s->u >= 0.0002);
}

static void test_shots_and_let_downs(void **state)
{
    static const double rates_hz[] = {80.0, 1000.0, 3200.0};
    for (uint64_t seed = 0; seed < 30; seed++) {
        const bool is_let_down = seed % 5 == 0;
        struct run run;
        open_run(&run, is_let_down ? (unsigned)SH_ARCHER_LET_DOWN : 0u, seed,
                 rates_hz[seed % 3]);
        const double over_s = run.scene.signal.plan.loose_s +
                              (is_let_down ? run.scene.signal.plan.let_down_s : 0.1);
        find(&run, REST_N + 0.3, 62.3, over_s);
        assert_true(run.found.is_draw);
        assert_true(run.found.has_fall);
        assert_near(run.shot.rest_n.value, REST_N, 0.1 + 3.0 * run.shot.rest_n.u, 0.0);
        assert_near(run.shot.rest_noise_n, 0.3, 0.0, 0.4);
        assert_near(run.made.view.force.scale_u_ratio, 0.003, 1e-9, 0.0);
        assert_near(run.made.view.stream[0].rest_n[0].value, run.shot.rest_n.value, 1e-9, 0.0);
        check_event(&run, SH_EVENT_DRAW_START, run.scene.truth.draw_start_s);
        check_event(&run, SH_EVENT_FULL_DRAW, run.scene.truth.full_draw_s);
        if (is_let_down) {
            assert_int_equal(run.shot.kind, SH_SHOT_LET_DOWN);
            assert_true(sh_quantity_is_known(&run.shot.event_s[SH_EVENT_LET_DOWN]));
            assert_int_equal(run.shot.event_s[SH_EVENT_RELEASE].why, SH_WHY_NOT_APPLICABLE);
        } else {
            assert_int_equal(run.shot.kind, SH_SHOT_SHOT);
            check_event(&run, SH_EVENT_RELEASE, run.scene.truth.release_s);
            assert_int_equal(run.shot.event_s[SH_EVENT_LET_DOWN].why, SH_WHY_NOT_APPLICABLE);
        }
        assert_true(isinf(run.found.next_s));
        scene_view_close(&run.made);
    }
}

/* The threshold is met exactly by the definition: 0.3 s above it, no less. */
static void test_half_draws_count_by_the_threshold(void **state)
{
    for (int i = 0; i < 2; i++) {
        struct run run;
        open_run(&run, 0, 1, 1000.0);
        set_span(&run, -1.0, 99.0, REST_N);
        set_span(&run, 0.0, i == 0 ? 0.299 : 0.302, REST_N + 63.0);
        find(&run, REST_N, 62.3, 0.31);
        assert_int_equal(run.found.is_draw, i == 1);
        scene_view_close(&run.made);
        open_run(&run, 0, 1, 1000.0);
        set_span(&run, -1.0, 99.0, REST_N);
        set_span(&run, 0.0, 1.0, REST_N + (i == 0 ? 62.2 : 62.4));
        find(&run, REST_N, 62.3, 1.1);
        assert_int_equal(run.found.is_draw, i == 1);
        scene_view_close(&run.made);
    }
}

/* A fall that takes 80 ms from 10 to 90 %: the shock decides. */
static void test_between_the_limits(void **state)
{
    static const enum sh_shot_kind kinds[] = {SH_SHOT_UNRESOLVED, SH_SHOT_LET_DOWN,
                                              SH_SHOT_SHOT};
    struct run run;
    open_run(&run, 0, 2, 1000.0);
    const double loose_s = run.scene.signal.plan.loose_s;
    for (int i = 0; i < 100; i++) {
        set_span(&run, loose_s + 0.001 * i, 99.0, REST_N + 1.78 * (100 - i));
    }
    set_span(&run, loose_s + 0.1, 99.0, REST_N);
    const struct sh_levels_span skips = {0};
    struct sh_events *events = NULL;
    const size_t n = run.made.n;
    const struct sh_events_draw draw = {.first = n / 3,
                                        .end = (size_t)scene_frame(&run.how, loose_s + 0.1),
                                        .base_n = REST_N,
                                        .threshold_n = 20.0,
                                        .skips = &skips};
    assert_int_equal(sh_events_open(1000.0, n, n, &events, NULL), SH_OK);
    assert_int_equal(
        sh_events_find(events, &draw, &run.made.view, run.made.net_n, &run.shot, &run.found),
        SH_OK);
    assert_true(run.found.is_between);
    assert_near(run.found.fall.length_s, 0.08, 0.004, 0.0);
    for (int shock = 0; shock < 3; shock++) {
        sh_events_settle(events, &run.made.view, (enum sh_fall_shock)shock, &run.shot,
                         &run.found);
        assert_int_equal(run.shot.kind, kinds[shock]);
    }
    check_event(&run, SH_EVENT_RELEASE, loose_s + 0.01);
    sh_events_close(&events);
    scene_view_close(&run.made);
}

/* What a gap hides is not guessed. */
static void test_gaps(void **state)
{
    struct run run;
    open_run(&run, 0, 3, 1000.0);
    lose_span(&run, run.scene.truth.release_s - 0.002, run.scene.truth.release_s + 0.003);
    find(&run, REST_N, 62.3, run.scene.truth.release_s + 0.1);
    assert_int_equal(run.shot.kind, SH_SHOT_UNRESOLVED);
    assert_false(run.found.has_fall);
    assert_int_equal(run.shot.event_s[SH_EVENT_RELEASE].why, SH_WHY_GAP);
    check_event(&run, SH_EVENT_FULL_DRAW, run.scene.truth.full_draw_s);
    scene_view_close(&run.made);

    open_run(&run, 0, 3, 1000.0);
    lose_span(&run, run.scene.truth.draw_start_s + 0.05, run.scene.truth.draw_start_s + 0.06);
    find(&run, REST_N, 62.3, run.scene.truth.release_s + 0.1);
    assert_int_equal(run.shot.kind, SH_SHOT_SHOT);
    assert_int_equal(run.shot.event_s[SH_EVENT_DRAW_START].why, SH_WHY_GAP);
    check_event(&run, SH_EVENT_RELEASE, run.scene.truth.release_s);
    scene_view_close(&run.made);
}

/* The recording ends in the hold. */
static void test_recording_ends_before_the_release(void **state)
{
    struct run run;
    open_run(&run, 0, 4, 1000.0);
    const size_t n = (size_t)scene_frame(&run.how, run.scene.truth.release_s - 0.3);
    run.made.n = n;
    run.made.view.stream[0].n_frames = n;
    run.made.view.force.n_frames = n;
    find(&run, REST_N, 62.3, 1e6);
    assert_true(run.found.is_draw);
    assert_false(run.found.has_fall);
    assert_int_equal(run.shot.kind, SH_SHOT_UNRESOLVED);
    assert_int_equal(run.shot.event_s[SH_EVENT_RELEASE].why, SH_WHY_NOT_SEEN);
    assert_int_equal(run.shot.event_s[SH_EVENT_LET_DOWN].why, SH_WHY_NOT_SEEN);
    check_event(&run, SH_EVENT_DRAW_START, run.scene.truth.draw_start_s);
    check_event(&run, SH_EVENT_FULL_DRAW, run.scene.truth.full_draw_s);
    assert_near(run.found.fall_frame, (double)n - 1.0, 1.0, 0.0);
    scene_view_close(&run.made);
}

/* The next draw soon after the release is seen where it begins. */
static void test_next_draw(void **state)
{
    struct run run;
    open_run(&run, 0, 5, 1000.0);
    const double next_s = run.scene.truth.release_s + 1.5;
    for (int i = 0; i < 500; i++) {
        set_span(&run, next_s + 0.001 * i, 99.0, REST_N + 0.3 * i);
    }
    find(&run, REST_N, 62.3, run.scene.truth.release_s + 0.1);
    assert_int_equal(run.shot.kind, SH_SHOT_SHOT);
    assert_near(run.found.next_s, SCENE_VIEW_T0_S + next_s + 0.03, 0.02, 0.0);
    scene_view_close(&run.made);
}

static void test_refuses(void **state)
{
    struct sh_events *events = NULL;
    struct sh_error err = {0};
    assert_int_equal(sh_events_open(5.0, 100, 100, &events, &err), SH_ERR_ARGUMENT);
    assert_int_equal(err.status, SH_ERR_ARGUMENT);
    assert_null(events);
    struct run run;
    open_run(&run, 0, 6, 1000.0);
    run.made.net_n[100] = (double)NAN;
    const struct sh_levels_span skips = {0};
    const struct sh_events_draw draw = {.end = 2000, .threshold_n = 20.0, .skips = &skips};
    assert_int_equal(sh_events_open(1000.0, run.made.n, run.made.n, &events, NULL), SH_OK);
    assert_int_equal(
        sh_events_find(events, &draw, &run.made.view, run.made.net_n, &run.shot, &run.found),
        SH_ERR_NOT_FINITE);
    run.made.view.force.n_frames = 1;
    assert_int_equal(
        sh_events_find(events, &draw, &run.made.view, run.made.net_n, &run.shot, &run.found),
        SH_OK);
    assert_false(run.found.is_draw);
    sh_events_close(&events);
    sh_events_close(NULL);
    scene_view_close(&run.made);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_shots_and_let_downs),
        cmocka_unit_test(test_half_draws_count_by_the_threshold),
        cmocka_unit_test(test_between_the_limits),
        cmocka_unit_test(test_gaps),
        cmocka_unit_test(test_recording_ends_before_the_release),
        cmocka_unit_test(test_next_draw),
        cmocka_unit_test(test_refuses),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
