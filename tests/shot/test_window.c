/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shot/window.h"

#include <math.h>

#include "support/cmocka_all.h"
#include "support/near.h"

static const struct sh_stream ten_hz = {
    .name = "string", .rate_hz = 10.0, .offset_s = 5.0, .offset_u_s = 0.01, .n_channels = 1};

static struct sh_window open_ten_hz(enum sh_timebase_reading reading)
{
    struct sh_window window;
    assert_int_equal(sh_window_open(&window, &ten_hz, reading, NULL), SH_OK);
    return window;
}

static void push_frames(struct sh_window *window, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        const double value = (double)sh_history_get_next(window->history);
        sh_history_push(window->history, &value, 0);
    }
}

static void append(struct sh_window *window, uint64_t frame, double time_s)
{
    const struct sh_anchor anchor = {frame, time_s, 0.001};
    assert_int_equal(sh_timebase_append(&window->timebase, &anchor), SH_OK);
}

/* The first frame at or after a time is what a search through all frames gives, with steps of
 * the clock forward and backward. */
static void test_find_frame_is_the_first(void **state)
{
    static const enum sh_timebase_reading readings[] = {SH_TIMEBASE_FORWARD,
                                                        SH_TIMEBASE_BETWEEN};
    for (size_t r = 0; r < 2; r++) {
        struct sh_window window = open_ten_hz(readings[r]);
        for (unsigned n_anchors = 0; n_anchors < 5; n_anchors++) {
            for (double time_s = 4.0; time_s < 30.0; time_s += 0.033) {
                uint64_t frame = 0;
                while (sh_window_get_time_s(&window, frame, NULL) < time_s) {
                    frame++;
                }
                assert_int_equal(sh_window_find_frame(&window, time_s), frame);
            }
            /* late, early, on time, very early */
            static const double times_s[] = {5.0, 9.3, 12.7, 16.7, 19.9};
            append(&window, 40 * n_anchors, times_s[n_anchors]);
        }
        sh_window_close(&window);
    }
}

static void test_reached_once_the_frame_has_come(void **state)
{
    struct sh_window window = open_ten_hz(SH_TIMEBASE_FORWARD);
    assert_false(sh_window_has_reached(&window, 5.0));
    push_frames(&window, 1);
    assert_true(sh_window_has_reached(&window, 5.0));
    assert_false(sh_window_has_reached(&window, 5.01));
    push_frames(&window, 10);
    assert_true(sh_window_has_reached(&window, 6.0));
    assert_false(sh_window_has_reached(&window, 6.01));
    sh_window_close(&window);
}

static void test_cut_and_trim(void **state)
{
    struct sh_window window = open_ten_hz(SH_TIMEBASE_FORWARD);
    push_frames(&window, 700);
    struct sh_shot_stream piece;
    sh_window_cut(&window, 90, 130, &piece);
    assert_int_equal(piece.first_frame, 100);
    assert_int_equal(piece.n_frames, 30);
    assert_near(piece.value[0][0], 100.0, 0.0, 0.0);
    assert_near(piece.time_s[29], 5.0 + 12.9, 1e-9, 0.0);
    assert_int_equal(piece.rest_n[0].why, SH_WHY_NOT_APPLICABLE);
    sh_window_trim(&piece, 10);
    assert_int_equal(piece.first_frame, 110);
    assert_int_equal(piece.n_frames, 20);
    assert_near(piece.value[0][0], 110.0, 0.0, 0.0);
    assert_near(piece.time_s[0], 16.0, 1e-9, 0.0);
    sh_window_trim(&piece, 20);
    assert_int_equal(piece.n_frames, 0);
    sh_window_cut(&window, 10, 20, &piece);
    assert_int_equal(piece.n_frames, 0);
    sh_window_trim(&piece, 0);
    sh_window_close(&window);
}

static void test_reset_is_as_new(void **state)
{
    struct sh_window window = open_ten_hz(SH_TIMEBASE_FORWARD);
    append(&window, 0, 100.0);
    push_frames(&window, 50);
    assert_int_equal(sh_window_reset(&window), SH_OK);
    assert_int_equal(sh_history_get_next(window.history), 0);
    double u_s = 0.0;
    assert_near(sh_window_get_time_s(&window, 0, &u_s), 5.0, 1e-12, 0.0);
    assert_near(u_s, 0.01, 1e-12, 0.0);
    sh_window_close(&window);
    sh_window_close(&window);
}

static void test_refuses(void **state)
{
    struct sh_window window;
    struct sh_stream stream = ten_hz;
    stream.rate_hz = 0.0;
    assert_int_equal(sh_window_open(&window, &stream, SH_TIMEBASE_FORWARD, NULL),
                     SH_ERR_ARGUMENT);
    stream = ten_hz;
    stream.n_channels = 0;
    struct sh_error err = {0};
    assert_int_equal(sh_window_open(&window, &stream, SH_TIMEBASE_FORWARD, &err),
                     SH_ERR_ARGUMENT);
    assert_int_equal(err.status, SH_ERR_ARGUMENT);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_find_frame_is_the_first),
        cmocka_unit_test(test_reached_once_the_frame_has_come),
        cmocka_unit_test(test_cut_and_trim),
        cmocka_unit_test(test_reset_is_as_new),
        cmocka_unit_test(test_refuses),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
