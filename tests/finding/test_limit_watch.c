/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "finding/limit_watch.h"

#include <stdio.h>
#include <string.h>

#include "finding/watched.h"
#include "support/cmocka_all.h"
#include "support/near.h"

#define LATE_S 0.2 /* what crosses is told within */

/* The frame at which the 20 ms mean plus 2 u (1 % of it) comes to a force. */
static size_t find_crossing(const struct watched *watched, size_t finger, double force_n)
{
    size_t frame = 20;
    while (frame < watched->n_frames &&
           (1.0 + 2.0 * WATCHED_SCALE_U) * watched_get_mean_n(watched, finger, frame) <
               force_n) {
        frame++;
    }
    return frame;
}

/* Told at the very sample that crosses, in the push that brings it. */
static void test_a_peak_is_told_at_the_sample_that_crosses(void **state)
{
    const struct sh_mark mark = watched_make_most("finger_peak_n", "ring", "shot", 36.0);
    struct watched *watched = watched_open_drawn(&mark, 1);
    const struct sh_limit_event *reached = watched_find(watched, SH_LIMIT_EVENT_REACHED);
    assert_non_null(reached);
    const size_t frame = find_crossing(watched, 2, 36.0);
    double frame_s = (double)frame / WATCHED_RATE_HZ;
    assert_near(reached->t_s, frame_s, 0.003, 0); /* rest level and its u are not exactly 0 */
    size_t i = (size_t)(reached - watched->event);
    assert_near((double)(watched->pushed_at[i] - 1) / WATCHED_RATE_HZ, reached->t_s, 1e-9, 0);
    assert_true(reached->value.value + 2.0 * reached->value.u >= 36.0);
    assert_non_null(strstr(reached->text, "at most 36 N for finger peak force of the ring"));
    assert_int_equal(watched_count(watched, SH_LIMIT_EVENT_REACHED), 1);
    const struct sh_limit_event *near = watched_find(watched, SH_LIMIT_EVENT_NEAR);
    assert_non_null(near);
    assert_true(near->t_s < reached->t_s);
    assert_near(near->value.value, 0.8 * 36.0, 0.1, 0);
    assert_int_equal(watched_count(watched, SH_LIMIT_EVENT_UNKNOWN), 0);
    watched_close(watched);
}

static void check_state(const char *what,
                        const char *finger,
                        const char *per,
                        double most,
                        enum sh_limit_state expected)
{
    const struct sh_mark mark = watched_make_most(what, finger, per, most);
    struct watched *watched = watched_open_drawn(&mark, 20);
    assert_int_equal(sh_limit_watch_get_state(watched->watch, &watched->session.marks[0]),
                     expected);
    assert_int_equal(sh_limit_watch_get_state(watched->watch, &mark), SH_LIMIT_UNKNOWN);
    watched_close(watched);
}

/* The ring finger bears 40 N: after the draw its limits stand as they were told in it. */
static void test_how_a_limit_stands(void **state)
{
    check_state("finger_peak_n", "ring", "shot", 60.0, SH_LIMIT_INSIDE);
    check_state("finger_peak_n", "ring", "shot", 45.0, SH_LIMIT_NEAR);    /* 89 % */
    check_state("finger_peak_n", "ring", "shot", 40.5, SH_LIMIT_REACHED); /* with 2 u */
    check_state("finger_peak_n", "ring", "day", 45.0, SH_LIMIT_NEAR);
    check_state("draws", "", "day", 1.0, SH_LIMIT_REACHED);
    check_state("draws", "", "day", 9.0, SH_LIMIT_INSIDE);
    check_state("finger_share", "ring", "shot", 0.9, SH_LIMIT_UNKNOWN); /* not measured yet */
}

/* A sensor that shows a fifth more under a steady load: 40 N read are 34 N or so, which stay
 * under the limit that 40 N would pass. */
static void test_load_drift_is_taken_off(void **state)
{
    const struct sh_mark mark = watched_make_most("finger_peak_n", "ring", "shot", 38.0);
    for (int has_drift = 0; has_drift < 2; has_drift++) {
        struct watched *watched = watched_open();
        struct sh_stream *stream = &watched->session.streams[0].stream;
        for (size_t c = 0; c < stream->n_channels; c++) {
            stream->channel[c].load_drift_ratio = has_drift != 0 ? 0.2 : 0.0;
            stream->channel[c].load_drift_time_s = has_drift != 0 ? 0.2 : 0.0;
        }
        watched_limit(watched, &mark);
        watched_rest(watched, 3.0);
        watched_draw(watched, watched_peaks_n, 1.0, 2.0);
        watched_rest(watched, 2.0);
        watched_begin(watched);
        watched_feed(watched, 50);
        assert_int_equal(watched_count(watched, SH_LIMIT_EVENT_REACHED),
                         has_drift != 0 ? 0 : 1);
        assert_int_equal(watched_count(watched, SH_LIMIT_EVENT_NEAR), 1);
        watched_close(watched);
    }
}

/* However the samples are cut, what is told is the same; and with blocks of 100 ms it is told
 * with no more than 200 ms of samples behind the one that crossed. */
static void test_blocks_do_not_matter(void **state)
{
    static const size_t sizes[] = {1, 7, 20, 100, 1000, 60000};
    const struct sh_mark mark = watched_make_most("finger_impulse_n_s", "ring", "shot", 60.0);
    struct watched *whole = watched_open_drawn(&mark, 1);
    for (size_t k = 1; k < sizeof sizes / sizeof sizes[0]; k++) {
        struct watched *cut = watched_open_drawn(&mark, sizes[k]);
        assert_int_equal(cut->n_events, whole->n_events);
        for (size_t i = 0; i < cut->n_events; i++) {
            assert_int_equal(cut->event[i].kind, whole->event[i].kind);
            assert_near(cut->event[i].t_s, whole->event[i].t_s, 1e-9, 0);
            assert_near(cut->event[i].value.value, whole->event[i].value.value, 0, 0);
            assert_string_equal(cut->event[i].text, whole->event[i].text);
            double late_s = (double)cut->pushed_at[i] / WATCHED_RATE_HZ - cut->event[i].t_s;
            assert_true(sizes[k] > 100 || late_s <= LATE_S);
        }
        watched_close(cut);
    }
    assert_int_equal(whole->n_events, 2);
    watched_close(whole);
}

/* The triangle of the rise and the hold, 40 N on the ring finger: 60 N s after 2 s of it. */
static void test_an_impulse_is_told_while_it_grows(void **state)
{
    const struct sh_mark mark = watched_make_most("finger_impulse_n_s", "ring", "shot", 60.0);
    struct watched *watched = watched_open_drawn(&mark, 50);
    const struct sh_limit_event *reached = watched_find(watched, SH_LIMIT_EVENT_REACHED);
    assert_non_null(reached);
    /* value + 2 u = 60 with u of 1.41 %: from 58.3 N s on; 20 come with the rise */
    double exact_s = 3.0 + 1.0 + (60.0 / (1.0 + 2.0 * 0.01414) - 20.0) / 40.0;
    assert_near(reached->t_s, exact_s, 0.06, 0);
    watched_close(watched);
    const struct sh_mark high = watched_make_most("finger_impulse_n_s", "ring", "shot", 110.0);
    watched = watched_open_drawn(&high, 50);
    assert_null(watched_find(watched, SH_LIMIT_EVENT_REACHED)); /* 100 N s in all */
    assert_non_null(watched_find(watched, SH_LIMIT_EVENT_NEAR));
    watched_close(watched);
}

/* A preload of 12 % held for five seconds is not of the draw. */
static void test_a_preload_is_left_out(void **state)
{
    const double preload_n[3] = {7.0, 7.0, 5.0};
    const struct sh_mark mark = watched_make_most("finger_impulse_n_s", "ring", "shot", 110.0);
    struct watched *watched = watched_open();
    watched_limit(watched, &mark);
    watched_rest(watched, 3.0);
    watched_draw(watched, preload_n, 0.5, 5.0);
    watched->n_frames -= 10; /* it does not go */
    watched_draw(watched, watched_peaks_n, 0.8, 2.0);
    watched_rest(watched, 1.0);
    watched_begin(watched);
    watched_feed(watched, 50);
    assert_null(watched_find(watched, SH_LIMIT_EVENT_REACHED));
    const struct sh_limit_event *near = watched_find(watched, SH_LIMIT_EVENT_NEAR);
    assert_non_null(
        near); /* at 88 of some 96 N s; with the preload it would come 0.6 s sooner */
    assert_true(near->t_s > 3.0 + 5.5 + 0.8 + 1.6);
    watched_close(watched);
}

static void test_a_day_begins_with_what_was_before(void **state)
{
    struct sh_mark mark = watched_make_most("finger_impulse_n_s", "", "day", 1000.0);
    mark.before = (struct sh_mark_number){true, 700.0};
    mark.before_u = (struct sh_mark_number){true, 2.0};
    struct watched *watched = watched_open_drawn(&mark, 50);
    /* 160 N together: 400 N s of this draw; 700 + 296 - 2 u of the sum */
    const struct sh_limit_event *reached = watched_find(watched, SH_LIMIT_EVENT_REACHED);
    assert_non_null(reached);
    assert_true(reached->value.value > 980.0 && reached->value.value < 1000.0);
    watched_close(watched);
    mark.before.value = 500.0; /* 900 in all: near, not reached */
    watched = watched_open_drawn(&mark, 50);
    assert_null(watched_find(watched, SH_LIMIT_EVENT_REACHED));
    assert_non_null(watched_find(watched, SH_LIMIT_EVENT_NEAR));
    watched_close(watched);
}

/* Four draws under a limit of 3 draws: near at the third of three (80 % are 2.4), reached there
 * too; told once. */
static void test_draws_are_counted_as_they_begin(void **state)
{
    const struct sh_mark mark = watched_make_most("draws", "", "session", 3.0);
    struct watched *watched = watched_open();
    watched_limit(watched, &mark);
    watched_rest(watched, 3.0);
    for (int i = 0; i < 4; i++) {
        watched_draw(watched, watched_peaks_n, 1.0, 1.0);
        watched_rest(watched, 4.0);
    }
    watched_begin(watched);
    watched_feed(watched, 20);
    assert_int_equal(watched->n_events, 1);
    assert_int_equal(watched->event[0].kind, SH_LIMIT_EVENT_REACHED);
    assert_near(watched->event[0].value.value, 3.0, 0, 0);
    /* third draw from 15.02 s on; 52.5 N x 0.8 of 160 at 0.26 s, and 0.24 s more */
    assert_near(watched->event[0].t_s, 15.02 + 0.2625 + 0.24, 0.02, 0);
    watched_close(watched);
}

static void test_rest_between_draws(void **state)
{
    const struct sh_mark mark = {
        .kind = SH_MARK_LIMIT, .what = "rest_s", .per = "shot", .least = {true, 10.0}};
    struct watched *watched = watched_open();
    watched_limit(watched, &mark);
    static const double rests_s[] = {20.0, 11.5, 5.0};
    watched_rest(watched, 3.0);
    watched_draw(watched, watched_peaks_n, 1.0, 1.0);
    for (size_t i = 0; i < 3; i++) {
        watched_rest(watched, rests_s[i]);
        watched_draw(watched, watched_peaks_n, 1.0, 1.0);
    }
    watched_rest(watched, 1.0);
    watched_begin(watched);
    watched_feed(watched, 20);
    assert_int_equal(watched_count(watched, SH_LIMIT_EVENT_NEAR), 1);
    assert_int_equal(watched_count(watched, SH_LIMIT_EVENT_REACHED), 1);
    assert_near(watched_find(watched, SH_LIMIT_EVENT_NEAR)->value.value, 11.5, 0.5, 0);
    assert_near(watched_find(watched, SH_LIMIT_EVENT_REACHED)->value.value, 5.0, 0.5, 0);
    watched_close(watched);
}

static void test_when_a_sound_may_come(void **state)
{
    const struct sh_mark mark = watched_make_most("draws", "", "day", 100.0);
    struct watched *watched = watched_open();
    watched_limit(watched, &mark);
    watched_begin(watched);
    assert_false(sh_limit_watch_is_quiet(watched->watch));
    watched_rest(watched, 3.0);
    watched_feed(watched, 10);
    assert_true(sh_limit_watch_is_quiet(watched->watch));
    watched_draw(watched, watched_peaks_n, 1.0, 2.0);
    watched->n_frames -= 2900; /* 0.11 s into the rise */
    watched_feed(watched, 10);
    assert_false(sh_limit_watch_is_quiet(watched->watch));
    watched->n_frames += 2890;
    watched_feed(watched, 10);
    assert_false(sh_limit_watch_is_quiet(watched->watch));
    watched_rest(watched, 0.9);
    watched_feed(watched, 10);
    assert_false(sh_limit_watch_is_quiet(watched->watch));
    watched_rest(watched, 0.2);
    watched_feed(watched, 10);
    assert_true(sh_limit_watch_is_quiet(watched->watch));
    watched_close(watched);
}

static void test_limits_that_are_not_watched(void **state)
{
    struct watched *watched = watched_open();
    struct sh_mark over = watched_make_most("draws", "", "day", 1.0);
    (void)snprintf(over.until, sizeof over.until, "2026-05-13");
    struct sh_mark strange = watched_make_most("patience", "", "day", 1.0);
    watched_limit(watched, &over);
    watched_limit(watched, &strange);
    watched_begin(watched);
    assert_int_equal(sh_limit_watch_get_n(watched->watch), 0);
    watched_rest(watched, 1.0);
    watched_feed(watched, 10);
    watched_close(watched);
}

static void test_too_many(void **state)
{
    struct watched *watched = watched_open();
    const struct sh_mark mark = watched_make_most("draws", "", "day", 1.0);
    const struct sh_limit_watch_config config = {.session = &watched->session, .date = ""};
    struct sh_error err = {0};
    for (size_t i = 0; i <= SH_LIMIT_WATCH_LIMITS_MAX; i++) {
        watched_limit(watched, &mark);
    }
    assert_int_equal(sh_limit_watch_open(&config, &watched->watch, &err), SH_ERR_FULL);
    assert_null(watched->watch);
    watched->session.n_marks--;
    assert_int_equal(sh_limit_watch_open(&config, &watched->watch, &err), SH_OK);
    watched_close(watched);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_a_peak_is_told_at_the_sample_that_crosses),
        cmocka_unit_test(test_how_a_limit_stands),
        cmocka_unit_test(test_load_drift_is_taken_off),
        cmocka_unit_test(test_blocks_do_not_matter),
        cmocka_unit_test(test_an_impulse_is_told_while_it_grows),
        cmocka_unit_test(test_a_preload_is_left_out),
        cmocka_unit_test(test_a_day_begins_with_what_was_before),
        cmocka_unit_test(test_draws_are_counted_as_they_begin),
        cmocka_unit_test(test_rest_between_draws),
        cmocka_unit_test(test_when_a_sound_may_come),
        cmocka_unit_test(test_limits_that_are_not_watched),
        cmocka_unit_test(test_too_many),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
