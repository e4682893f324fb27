/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shot/lanes.h"

#include "support/cmocka_all.h"
#include "support/near.h"

#define FINGER(f)                                                                              \
    {                                                                                          \
        .role = SH_ROLE_FINGER_FORCE, .finger = (f), .is_physical = true                       \
    }

static const struct sh_stream bow = {.name = "bow",
                                     .rate_hz = 20.0,
                                     .n_channels = 1,
                                     .channel = {{.role = SH_ROLE_BOW_ACCELERATION}}};
static const struct sh_stream two_fingers = {
    .name = "two",
    .rate_hz = 10.0,
    .n_channels = 3,
    .channel = {FINGER(SH_FINGER_INDEX), {.role = SH_ROLE_SOUND}, FINGER(SH_FINGER_RING)}};
static const struct sh_stream one_finger = {
    .name = "one", .rate_hz = 10.0, .n_channels = 1, .channel = {FINGER(SH_FINGER_INDEX)}};
static const struct sh_stream string = {
    .name = "string",
    .rate_hz = 40.0,
    .n_channels = 2,
    .channel = {{.role = SH_ROLE_SOUND},
                {.role = SH_ROLE_STRING_FORCE, .delay_s = 0.01, .delay_u_s = 0.002}}};

static void open(struct sh_lanes *lanes, const struct sh_stream *const *stream, size_t n)
{
    assert_int_equal(sh_lanes_open(lanes, stream, n, SH_TIMEBASE_FORWARD, NULL), SH_OK);
}

static void test_string_force_comes_first(void **state)
{
    const struct sh_stream *const streams[] = {&bow, &two_fingers, &string};
    struct sh_lanes lanes;
    open(&lanes, streams, 3);
    assert_true(lanes.force.is_present);
    assert_false(lanes.force.is_finger_sum);
    assert_int_equal(lanes.force.stream, 2);
    assert_int_equal(lanes.force.n_channels, 1);
    assert_int_equal(lanes.force.channel[0], 1);
    assert_near(lanes.force.delay_s, 0.01, 1e-12, 0.0);
    assert_near(lanes.force.delay_u_s, 0.002, 1e-12, 0.0);
    assert_int_equal(lanes.n_frames_max, 2400);
    assert_string_equal(sh_lanes_get_leader(&lanes)->stream.name, "string");
    assert_true(lanes.has_bow);
    assert_int_equal(lanes.bow, 0);
    assert_int_equal(lanes.n_axes, 1);
    sh_lanes_close(&lanes);
    sh_lanes_close(&lanes);
}

static void test_else_the_most_fingers(void **state)
{
    const struct sh_stream *const streams[] = {&one_finger, &two_fingers, &bow};
    struct sh_lanes lanes;
    open(&lanes, streams, 3);
    assert_true(lanes.force.is_finger_sum);
    assert_int_equal(lanes.force.stream, 1);
    assert_int_equal(lanes.force.n_channels, 2);
    assert_int_equal(lanes.force.channel[1], 2);
    sh_lanes_close(&lanes);
    open(&lanes, &streams[2], 1);
    assert_false(lanes.force.is_present);
    assert_true(lanes.has_bow);
    assert_string_equal(sh_lanes_get_leader(&lanes)->stream.name, "bow");
    sh_lanes_close(&lanes);
}

static void push(struct sh_window *window, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        const double at = (double)sh_history_get_next(window->history);
        const double value[3] = {at, 1000.0, 2.0 * at};
        sh_history_push(window->history, value, 0);
    }
}

static void test_cut_and_trim_all_streams(void **state)
{
    const struct sh_stream *const streams[] = {&two_fingers, &bow};
    struct sh_lanes lanes;
    struct sh_shot_view view;
    open(&lanes, streams, 2);
    push(&lanes.window[0], 100);
    push(&lanes.window[1], 150);
    assert_true(sh_lanes_have_reached(&lanes, 7.4));
    assert_false(sh_lanes_have_reached(&lanes, 7.6)); /* the bow has not */
    sh_lanes_cut(&lanes, 2.0, 9.0, &view);
    assert_int_equal(view.n_streams, 2);
    assert_int_equal(view.stream[0].first_frame, 20);
    assert_int_equal(view.stream[0].n_frames, 70);
    assert_int_equal(view.stream[1].first_frame, 40);
    assert_int_equal(view.stream[1].n_frames, 110);
    assert_int_equal(view.force.n_frames, 70);
    assert_near(view.force.net_n[5], 3.0 * 25.0, 1e-12, 0.0);
    sh_lanes_trim(&lanes, 4.95, &view);
    assert_int_equal(view.stream[0].first_frame, 50);
    assert_int_equal(view.stream[1].first_frame, 99);
    assert_int_equal(view.force.n_frames, 40);
    assert_near(view.force.net_n[0], 150.0, 1e-12, 0.0);
    sh_lanes_trim(&lanes, 1.0, &view); /* nothing before */
    assert_int_equal(view.force.n_frames, 40);
    sh_lanes_trim(&lanes, 100.0, &view);
    assert_int_equal(view.force.n_frames, 0);
    assert_int_equal(view.stream[1].n_frames, 0);
    sh_lanes_reset(&lanes);
    assert_false(sh_lanes_have_reached(&lanes, 0.0));
    sh_lanes_close(&lanes);
}

static void test_one_bad_stream_closes_all(void **state)
{
    struct sh_stream bad = bow;
    bad.rate_hz = -1.0;
    const struct sh_stream *const streams[] = {&string, &bad};
    struct sh_lanes lanes;
    struct sh_error err = {0};
    assert_int_equal(sh_lanes_open(&lanes, streams, 2, SH_TIMEBASE_FORWARD, &err),
                     SH_ERR_ARGUMENT);
    assert_int_equal(err.status, SH_ERR_ARGUMENT);
    assert_int_equal(lanes.n, 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_string_force_comes_first),
        cmocka_unit_test(test_else_the_most_fingers),
        cmocka_unit_test(test_cut_and_trim_all_streams),
        cmocka_unit_test(test_one_bad_stream_closes_all),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
