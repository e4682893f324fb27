/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "series/shooting_clock.h"

#include <stdio.h>
#include <string.h>

#include "support/cmocka_all.h"
#include "support/near.h"

/* What was emitted: "10.0 shoot 1" a line, with the side, archer and lateness where they tell.
 */
struct heard {
    char text[8192];
    size_t n_bytes;
    size_t n_refused; /* so many events from now on end in an error */
    bool has_sides;
    bool has_archers;
};

static enum sh_status
hear(void *context, const struct sh_shooting_clock_event *event, struct sh_error *err)
{
    struct heard *heard = context;
    char side[8] = "";
    char archer[8] = "";
    char late[24] = "";
    if (heard->has_sides) {
        (void)snprintf(side, sizeof side, " %s",
                       event->side == SH_SHOOTING_CLOCK_OWN ? "own" : "other");
    }
    if (heard->has_archers) {
        (void)snprintf(archer, sizeof archer, " #%u", event->archer);
    }
    if (event->kind == SH_SHOOTING_CLOCK_EVENT_OVERRUN) {
        (void)snprintf(late, sizeof late, " late %.3f", event->late_s);
    }
    int n =
        snprintf(heard->text + heard->n_bytes, sizeof heard->text - heard->n_bytes,
                 "%.3f %s %u%s%s%s%s\n", event->t_s, sh_shooting_clock_event_name(event->kind),
                 event->n_signals, side, archer, late, event->is_time_out ? " time" : "");
    assert_true(n > 0 && heard->n_bytes + (size_t)n < sizeof heard->text);
    heard->n_bytes += (size_t)n;
    if (heard->n_refused > 0) {
        heard->n_refused--;
        return sh_error_set(err, SH_ERR_IO, "here", NULL, "deaf");
    }
    return SH_OK;
}

static void open_clock(struct sh_shooting_clock *clock, const char *format, struct heard *heard)
{
    const struct sh_round_format_set set = sh_round_format_default();
    const struct sh_shooting_clock_sink sink = {hear, heard};
    const struct sh_round_format *found = sh_round_format_find(&set, format);
    assert_non_null(found);
    *heard = (struct heard){.has_sides = found->kind == SH_ROUND_FORMAT_ALTERNATING,
                            .has_archers = found->n_archers > 1};
    sh_shooting_clock_init(clock, found, &sink);
}

static void push(struct sh_shooting_clock *clock, double until_s)
{
    assert_int_equal(sh_shooting_clock_push(clock, until_s, NULL), SH_OK);
}

static void
release(struct sh_shooting_clock *clock, enum sh_shooting_clock_side side, double t_s)
{
    assert_int_equal(sh_shooting_clock_release(clock, side, t_s, 0.0, NULL), SH_OK);
}

/* A whole end in which nothing is pressed but the start: published times, to the second. */
static const struct {
    const char *format;
    const char *events;
} ends[] = {
    {"three-90", "0.000 line up 2\n10.000 shoot 1\n70.000 warning 0\n100.000 stop 3 time\n"},
    {"three-120", "0.000 line up 2\n10.000 shoot 1\n100.000 warning 0\n130.000 stop 3 time\n"},
    {"six-180", "0.000 line up 2\n10.000 shoot 1\n160.000 warning 0\n190.000 stop 3 time\n"},
    {"six-240", "0.000 line up 2\n10.000 shoot 1\n220.000 warning 0\n250.000 stop 3 time\n"},
    {"team",
     "0.000 line up 2 #1\n10.000 shoot 1 #1\n100.000 warning 0 #1\n130.000 stop 3 #1 time\n"},
    {"mixed",
     "0.000 line up 2 #1\n10.000 shoot 1 #1\n60.000 warning 0 #1\n90.000 stop 3 #1 time\n"},
    {"shoot-off",
     "0.000 line up 2 #1\n10.000 shoot 1 #1\n40.000 warning 0 #1\n70.000 stop 3 #1 time\n"},
    {"alternating", "0.000 line up 2 own\n10.000 shoot 1 own\n"
                    "30.000 time out 0 own\n30.000 turn 1 other\n"
                    "50.000 time out 0 other\n50.000 turn 1 own\n"
                    "70.000 time out 0 own\n70.000 turn 1 other\n"
                    "90.000 time out 0 other\n90.000 turn 1 own\n"
                    "110.000 time out 0 own\n110.000 turn 1 other\n"
                    "130.000 time out 0 other\n130.000 stop 3 other time\n"},
};

/* However time is cut: at once, by the second, by steps that meet no event. */
static void test_formats_run_to_the_second(void **state)
{
    static const double steps_s[] = {1000.0, 1.0, 0.37, 7.13};
    for (size_t i = 0; i < sizeof ends / sizeof ends[0]; i++) {
        for (size_t k = 0; k < sizeof steps_s / sizeof steps_s[0]; k++) {
            struct sh_shooting_clock clock;
            struct heard heard;
            open_clock(&clock, ends[i].format, &heard);
            assert_int_equal(sh_shooting_clock_start(&clock, 0.0, SH_SHOOTING_CLOCK_OWN, NULL),
                             SH_OK);
            for (double now_s = steps_s[k]; now_s < 400.0; now_s += steps_s[k]) {
                push(&clock, now_s);
            }
            push(&clock, 400.0);
            assert_string_equal(heard.text, ends[i].events);
            assert_int_equal(clock.state, SH_SHOOTING_CLOCK_OVER);
        }
    }
}

/* A release starts the other's time at once; the other's is started by key. */
static void test_alternating_by_release(void **state)
{
    struct sh_shooting_clock clock;
    struct heard heard;
    open_clock(&clock, "alternating", &heard);
    (void)sh_shooting_clock_start(&clock, 100.0, SH_SHOOTING_CLOCK_OTHER, NULL);
    release(&clock, SH_SHOOTING_CLOCK_OTHER, 122.5);
    release(&clock, SH_SHOOTING_CLOCK_OTHER, 123.0); /* not its turn: nothing */
    release(&clock, SH_SHOOTING_CLOCK_OWN, 141.25);
    push(&clock, 162.0); /* the other lets the time run out */
    release(&clock, SH_SHOOTING_CLOCK_OWN, 170.0);
    release(&clock, SH_SHOOTING_CLOCK_OTHER, 171.0);
    release(&clock, SH_SHOOTING_CLOCK_OWN, 190.9);
    assert_string_equal(heard.text, "100.000 line up 2 other\n110.000 shoot 1 other\n"
                                    "122.500 turn 1 own\n141.250 turn 1 other\n"
                                    "161.250 time out 0 other\n161.250 turn 1 own\n"
                                    "170.000 turn 1 other\n171.000 turn 1 own\n"
                                    "190.900 stop 3 own\n");
    assert_int_equal(clock.n_gone[0], 3);
    assert_int_equal(clock.n_gone[1], 3);
}

static void test_overrun(void **state)
{
    struct sh_shooting_clock clock;
    struct heard heard;
    open_clock(&clock, "alternating", &heard);
    (void)sh_shooting_clock_start(&clock, 0.0, SH_SHOOTING_CLOCK_OWN, NULL);
    release(&clock, SH_SHOOTING_CLOCK_OWN, 30.75);
    assert_string_equal(heard.text, "0.000 line up 2 own\n10.000 shoot 1 own\n"
                                    "30.000 time out 0 own\n30.000 turn 1 other\n"
                                    "30.750 overrun 0 own late 0.750\n");
    assert_int_equal(clock.side, SH_SHOOTING_CLOCK_OTHER); /* whose time goes on */
    open_clock(&clock, "three-90", &heard);
    (void)sh_shooting_clock_start(&clock, 0.0, SH_SHOOTING_CLOCK_OWN, NULL);
    push(&clock, 100.0);
    heard.n_bytes = 0;
    heard.text[0] = '\0';
    /* at the limit, within its uncertainty, surely, at the last, too late to belong to it */
    assert_int_equal(sh_shooting_clock_release(&clock, SH_SHOOTING_CLOCK_OWN, 100.0, 0.0, NULL),
                     SH_OK);
    assert_int_equal(
        sh_shooting_clock_release(&clock, SH_SHOOTING_CLOCK_OWN, 100.25, 0.125, NULL), SH_OK);
    assert_string_equal(heard.text, "");
    assert_int_equal(
        sh_shooting_clock_release(&clock, SH_SHOOTING_CLOCK_OWN, 100.25, 0.12, NULL), SH_OK);
    release(&clock, SH_SHOOTING_CLOCK_OWN, 160.0);
    release(&clock, SH_SHOOTING_CLOCK_OWN, 160.1);
    assert_string_equal(heard.text,
                        "100.250 overrun 0 late 0.250\n160.000 overrun 0 late 60.000\n");
}

/* Where a clock was stopped by hand nothing is an overrun. */
static void test_stop_by_key(void **state)
{
    struct sh_shooting_clock clock;
    struct heard heard;
    open_clock(&clock, "six-240", &heard);
    assert_int_equal(sh_shooting_clock_stop(&clock, 1.0, NULL), SH_OK); /* nothing runs */
    (void)sh_shooting_clock_start(&clock, 2.0, SH_SHOOTING_CLOCK_OWN, NULL);
    (void)sh_shooting_clock_start(&clock, 3.0, SH_SHOOTING_CLOCK_OWN, NULL); /* it runs */
    (void)sh_shooting_clock_stop(&clock, 5.0, NULL);
    release(&clock, SH_SHOOTING_CLOCK_OWN, 6.0);
    (void)sh_shooting_clock_start(&clock, 20.0, SH_SHOOTING_CLOCK_OWN, NULL);
    release(&clock, SH_SHOOTING_CLOCK_OWN, 40.0);
    (void)sh_shooting_clock_stop(&clock, 50.0, NULL);
    release(&clock, SH_SHOOTING_CLOCK_OWN, 51.0);
    assert_string_equal(heard.text, "2.000 line up 2\n5.000 stop 3\n20.000 line up 2\n"
                                    "30.000 shoot 1\n50.000 stop 3\n");
}

static void test_pause_and_resume(void **state)
{
    struct sh_shooting_clock clock;
    struct sh_shooting_clock_view view;
    struct heard heard;
    open_clock(&clock, "three-90", &heard);
    (void)sh_shooting_clock_pause(&clock, 0.0, NULL); /* nothing runs */
    (void)sh_shooting_clock_start(&clock, 0.0, SH_SHOOTING_CLOCK_OWN, NULL);
    (void)sh_shooting_clock_pause(&clock, 4.0, NULL);
    sh_shooting_clock_get(&clock, 60.0, &view);
    assert_int_equal(view.state, SH_SHOOTING_CLOCK_PAUSED);
    assert_true(view.is_line_up);
    assert_int_equal(view.seconds, 6);
    (void)sh_shooting_clock_pause(&clock, 70.0, NULL); /* it is paused */
    (void)sh_shooting_clock_resume(&clock, 104.0, NULL);
    (void)sh_shooting_clock_pause(&clock, 130.5, NULL);
    push(&clock, 500.0);
    (void)sh_shooting_clock_resume(&clock, 1000.5, NULL);
    (void)sh_shooting_clock_resume(&clock, 1001.0, NULL); /* it runs */
    push(&clock, 2000.0);
    assert_string_equal(heard.text, "0.000 line up 2\n4.000 halted 0\n104.000 goes on 0\n"
                                    "110.000 shoot 1\n130.500 halted 0\n1000.500 goes on 1\n"
                                    "1040.000 warning 0\n1070.000 stop 3 time\n");
}

/* Two arrows each, then the next; by hand at any time; nobody after the last arrow. */
static void test_team_hands_over(void **state)
{
    struct sh_shooting_clock clock;
    struct heard heard;
    open_clock(&clock, "team", &heard);
    (void)sh_shooting_clock_hand_over(&clock, 0.0, NULL); /* nothing runs */
    (void)sh_shooting_clock_start(&clock, 0.0, SH_SHOOTING_CLOCK_OWN, NULL);
    for (unsigned i = 0; i < 6; i++) {
        release(&clock, SH_SHOOTING_CLOCK_OWN, 20.0 + 10.0 * i);
    }
    (void)sh_shooting_clock_hand_over(&clock, 75.0, NULL);
    assert_string_equal(heard.text, "0.000 line up 2 #1\n10.000 shoot 1 #1\n"
                                    "30.000 hand over 0 #2\n50.000 hand over 0 #3\n"
                                    "75.000 hand over 0 #1\n");
    open_clock(&clock, "six-240", &heard);
    (void)sh_shooting_clock_start(&clock, 0.0, SH_SHOOTING_CLOCK_OWN, NULL);
    (void)sh_shooting_clock_hand_over(&clock, 20.0, NULL); /* one archer */
    assert_string_equal(heard.text, "0.000 line up 2\n10.000 shoot 1\n");
}

static void test_view(void **state)
{
    struct sh_shooting_clock clock;
    struct sh_shooting_clock_view view;
    struct heard heard;
    open_clock(&clock, "three-120", &heard);
    sh_shooting_clock_get(&clock, 0.0, &view);
    assert_int_equal(view.state, SH_SHOOTING_CLOCK_READY);
    assert_int_equal(view.seconds, 0);
    (void)sh_shooting_clock_start(&clock, 0.0, SH_SHOOTING_CLOCK_OWN, NULL);
    sh_shooting_clock_get(&clock, 0.0, &view);
    assert_int_equal(view.seconds, 10);
    assert_true(view.is_line_up);
    push(&clock, 10.0);
    sh_shooting_clock_get(&clock, 10.0, &view);
    assert_int_equal(view.seconds, 120);
    assert_false(view.is_line_up || view.is_warning);
    sh_shooting_clock_get(&clock, 10.001, &view); /* a begun second counts whole */
    assert_int_equal(view.seconds, 120);
    sh_shooting_clock_get(&clock, 11.0, &view);
    assert_int_equal(view.seconds, 119);
    sh_shooting_clock_get(&clock, 99.9, &view);
    assert_false(view.is_warning);
    sh_shooting_clock_get(&clock, 100.0, &view); /* without being pushed */
    assert_true(view.is_warning);
    assert_near(view.left_s, 30.0, 1e-9, 0.0);
    sh_shooting_clock_get(&clock, 140.0, &view); /* not pushed: held back */
    assert_int_equal(view.state, SH_SHOOTING_CLOCK_SHOOTING);
    assert_int_equal(view.seconds, 0);
    push(&clock, 140.0);
    sh_shooting_clock_get(&clock, 140.0, &view);
    assert_int_equal(view.state, SH_SHOOTING_CLOCK_OVER);
}

/* A time that goes back counts as the latest; a clock without line-up begins at once. */
static void test_free_and_backwards(void **state)
{
    struct sh_shooting_clock clock;
    struct heard heard;
    struct sh_round_format_set set = sh_round_format_default();
    struct sh_round_format format = *sh_round_format_find(&set, "free");
    const struct sh_shooting_clock_sink sink = {hear, &heard};
    heard = (struct heard){0};
    format.line_up_s = 0.0;
    format.shooting_s = 45.0;
    format.warning_s = 0.0;
    sh_shooting_clock_init(&clock, &format, &sink);
    (void)sh_shooting_clock_start(&clock, 100.0, SH_SHOOTING_CLOCK_OWN, NULL);
    push(&clock, 110.0);
    (void)sh_shooting_clock_pause(&clock, 90.0, NULL);
    (void)sh_shooting_clock_resume(&clock, 120.0, NULL);
    push(&clock, 200.0);
    assert_string_equal(
        heard.text,
        "100.000 shoot 1\n110.000 halted 0\n120.000 goes on 1\n155.000 stop 3 time\n");
}

/* A sink that fails ends the call; nothing is lost but what it refused. */
static void test_sink_fails(void **state)
{
    struct sh_shooting_clock clock;
    struct heard heard;
    struct sh_error err = {0};
    open_clock(&clock, "three-90", &heard);
    heard.n_refused = 1;
    assert_int_equal(sh_shooting_clock_start(&clock, 0.0, SH_SHOOTING_CLOCK_OWN, &err),
                     SH_ERR_IO);
    assert_string_equal(err.what, "deaf");
    heard.n_refused = 1;
    assert_int_equal(sh_shooting_clock_push(&clock, 500.0, NULL), SH_ERR_IO);
    push(&clock, 500.0);
    assert_string_equal(heard.text, ends[0].events);
    open_clock(&clock, "alternating", &heard);
    (void)sh_shooting_clock_start(&clock, 0.0, SH_SHOOTING_CLOCK_OWN, NULL);
    push(&clock, 29.0);
    heard.n_refused = 1; /* the time out is refused, the turn begins all the same */
    assert_int_equal(sh_shooting_clock_push(&clock, 31.0, NULL), SH_ERR_IO);
    assert_int_equal(clock.side, SH_SHOOTING_CLOCK_OTHER);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_formats_run_to_the_second),
        cmocka_unit_test(test_alternating_by_release),
        cmocka_unit_test(test_overrun),
        cmocka_unit_test(test_stop_by_key),
        cmocka_unit_test(test_pause_and_resume),
        cmocka_unit_test(test_team_hands_over),
        cmocka_unit_test(test_view),
        cmocka_unit_test(test_free_and_backwards),
        cmocka_unit_test(test_sink_fails),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
