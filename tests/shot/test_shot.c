/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shot/shot.h"

#include "support/cmocka_all.h"
#include "support/near.h"

/* Uneven on purpose: a clock anchor moved the third step. */
static const double times_s[] = {10.0, 10.1, 10.2, 10.25, 10.35};

static const struct sh_stream described = {.rate_hz = 10.0, .n_channels = 1};

static struct sh_shot_stream uneven_stream(size_t n_frames)
{
    return (struct sh_shot_stream){
        .stream = &described, .n_frames = n_frames, .time_s = times_s};
}

static void test_kinds_and_sensors_are_those_of_the_contract(void **state)
{
    assert_string_equal(sh_shot_kind_name(SH_SHOT_SHOT), "shot");
    assert_string_equal(sh_shot_kind_name(SH_SHOT_LET_DOWN), "let-down");
    assert_string_equal(sh_shot_kind_name(SH_SHOT_UNRESOLVED), "unresolved");
    assert_string_equal(sh_shot_clicker_sensor_name(SH_CLICKER_NONE), "");
    assert_string_equal(sh_shot_clicker_sensor_name(SH_CLICKER_CONTACT), "contact");
    assert_string_equal(sh_shot_clicker_sensor_name(SH_CLICKER_ACCELERATION), "acceleration");
    assert_string_equal(sh_shot_clicker_sensor_name(SH_CLICKER_SOUND), "sound");
}

static void test_event_names_stand_in_order(void **state)
{
    static const char *const stems[] = {"draw_start", "full_draw", "clicker",
                                        "release",    "let_down",  "end"};
    static const char *const titles[] = {"draw start", "full draw", "clicker",
                                         "release",    "let-down",  "end"};
    assert_int_equal(SH_EVENT_COUNT, sizeof stems / sizeof stems[0]);
    for (int i = 0; i < SH_EVENT_COUNT; i++) {
        assert_string_equal(sh_shot_event_stem((enum sh_event)i), stems[i]);
        assert_string_equal(sh_shot_event_title((enum sh_event)i), titles[i]);
    }
    assert_string_equal(sh_shot_event_stem(SH_EVENT_COUNT), "");
    assert_string_equal(sh_shot_event_title(SH_EVENT_COUNT), "");
}

static void test_find_takes_the_first_that_fits(void **state)
{
    static const struct sh_stream force = {
        .n_channels = 2,
        .channel = {{.role = SH_ROLE_FINGER_FORCE, .finger = SH_FINGER_INDEX},
                    {.role = SH_ROLE_FINGER_FORCE, .finger = SH_FINGER_RING}}};
    static const struct sh_stream bow = {
        .n_channels = 2,
        .channel = {{.role = SH_ROLE_BOW_ACCELERATION, .axis = SH_AXIS_X},
                    {.role = SH_ROLE_BOW_ACCELERATION, .axis = SH_AXIS_Z}}};
    struct sh_shot_view view = {.n_streams = 2,
                                .stream = {{.stream = &force}, {.stream = &bow}}};
    size_t stream = 9;
    size_t channel = 9;

    assert_true(sh_shot_view_find(&view, SH_ROLE_BOW_ACCELERATION, SH_AXIS_NONE, SH_FINGER_NONE,
                                  &stream, &channel));
    assert_int_equal(stream, 1);
    assert_int_equal(channel, 0);
    assert_true(sh_shot_view_find(&view, SH_ROLE_BOW_ACCELERATION, SH_AXIS_Z, SH_FINGER_NONE,
                                  &stream, &channel));
    assert_int_equal(channel, 1);
    assert_true(sh_shot_view_find(&view, SH_ROLE_FINGER_FORCE, SH_AXIS_NONE, SH_FINGER_RING,
                                  &stream, &channel));
    assert_int_equal(stream, 0);
    assert_int_equal(channel, 1);
}

static void test_find_leaves_outputs_where_there_is_none(void **state)
{
    static const struct sh_stream force = {
        .n_channels = 1,
        .channel = {{.role = SH_ROLE_FINGER_FORCE, .finger = SH_FINGER_INDEX}}};
    struct sh_shot_view view = {.n_streams = 1, .stream = {{.stream = &force}}};
    size_t stream = 9;
    size_t channel = 9;
    assert_false(sh_shot_view_find(&view, SH_ROLE_FINGER_FORCE, SH_AXIS_NONE, SH_FINGER_RING,
                                   &stream, &channel));
    assert_false(sh_shot_view_find(&view, SH_ROLE_SOUND, SH_AXIS_NONE, SH_FINGER_NONE, &stream,
                                   &channel));
    assert_int_equal(stream, 9);
    assert_int_equal(channel, 9);
}

static void test_index_follows_the_clock_and_the_delay(void **state)
{
    struct sh_shot_stream stream = uneven_stream(5);
    assert_near(sh_shot_stream_index(&stream, 0.0, 10.0), 0.0, 1e-9, 0.0);
    assert_near(sh_shot_stream_index(&stream, 0.0, 10.05), 0.5, 1e-9, 0.0);
    assert_near(sh_shot_stream_index(&stream, 0.0, 10.225), 2.5, 1e-9, 0.0);
    assert_near(sh_shot_stream_index(&stream, 0.025, 10.2), 2.5, 1e-9, 0.0);
    assert_near(sh_shot_stream_index(&stream, 0.0, 9.8), -2.0, 1e-9, 0.0);
    assert_near(sh_shot_stream_index(&stream, 0.0, 10.65), 7.0, 1e-9, 0.0);
}

static void test_time_is_the_inverse_of_index(void **state)
{
    for (size_t n_frames = 1; n_frames <= 5; n_frames++) {
        struct sh_shot_stream stream = uneven_stream(n_frames);
        for (int i = -20; i <= 70; i++) {
            double index = 0.1 * i;
            double time_s = sh_shot_stream_time(&stream, 0.004, index);
            assert_near(sh_shot_stream_index(&stream, 0.004, time_s), index, 1e-9, 0.0);
        }
    }
    struct sh_shot_stream stream = uneven_stream(5);
    assert_near(sh_shot_stream_time(&stream, 0.01, 2.5), 10.215, 1e-12, 0.0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_kinds_and_sensors_are_those_of_the_contract),
        cmocka_unit_test(test_event_names_stand_in_order),
        cmocka_unit_test(test_find_takes_the_first_that_fits),
        cmocka_unit_test(test_find_leaves_outputs_where_there_is_none),
        cmocka_unit_test(test_index_follows_the_clock_and_the_delay),
        cmocka_unit_test(test_time_is_the_inverse_of_index),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
