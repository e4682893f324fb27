/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/bell.h"

#include <stddef.h>

#include "support/cmocka_all.h"
#include "support/near.h"

#define STEP_S 0.05

/* Signals asked for at their times. */
struct asked {
    double t_s;
    unsigned n_strokes;
};

/* Rings for until_s seconds as a program that looks every STEP_S; the strokes' times. */
static size_t
ring(const struct asked *asked, size_t n_asked, double until_s, double *strokes_s, size_t room)
{
    struct sh_bell bell;
    size_t n = 0;
    size_t next = 0;
    sh_bell_init(&bell);
    for (int i = 0; i * STEP_S < until_s; i++) {
        const double now_s = i * STEP_S;
        while (next < n_asked && asked[next].t_s <= now_s) {
            sh_bell_ask(&bell, asked[next++].n_strokes);
        }
        if (sh_bell_take(&bell, now_s)) {
            assert_true(n < room);
            strokes_s[n++] = now_s;
        }
    }
    return n;
}

static void test_signals_ring_at_their_time(void **state)
{
    const struct asked asked[] = {{0.0, 2}, {10.0, 1}, {130.0, 3}};
    const double expected_s[] = {0.0, 0.6, 10.0, 130.0, 130.6, 131.2};
    double strokes_s[16];
    assert_int_equal(ring(asked, 3, 200.0, strokes_s, 16), 6);
    for (size_t i = 0; i < 6; i++) {
        assert_near(strokes_s[i], expected_s[i], 1.5 * STEP_S, 0.0);
    }
}

/* Whatever is asked for and when, no run of strokes is longer than three. */
static void test_no_signals_add_up(void **state)
{
    for (int i = 0; i < 400; i++) {
        const struct asked asked[] = {{0.0, 2}, {0.01 * i, 3}, {0.013 * i, 1}, {0.02 * i, 3}};
        double strokes_s[32];
        size_t n_run = 1;
        size_t n = ring(asked, 4, 60.0, strokes_s, 32);
        assert_true(n >= 3);
        for (size_t k = 1; k < n; k++) {
            const double between_s = strokes_s[k] - strokes_s[k - 1];
            assert_true(between_s < SH_BELL_STROKE_S + 1.5 * STEP_S ||
                        between_s > SH_BELL_SILENCE_S - 1e-9);
            n_run = between_s > 1.0 ? 1 : n_run + 1;
            assert_true(n_run <= SH_BELL_STROKES_MAX);
        }
    }
}

/* The signal asked for last is rung, late by no more than it says. */
static void test_the_last_is_never_left_out(void **state)
{
    const struct asked asked[] = {{0.0, 3}, {0.05, 1}, {0.1, 3}};
    double strokes_s[16];
    assert_int_equal(ring(asked, 3, 60.0, strokes_s, 16), 6);
    assert_near(strokes_s[3], 1.2 + SH_BELL_SILENCE_S, 3 * STEP_S, 0.0);
}

static void test_what_is_no_signal(void **state)
{
    const struct asked asked[] = {{0.0, 0}, {1.0, 4}, {2.0, 5}};
    double strokes_s[4];
    assert_int_equal(ring(asked, 3, 60.0, strokes_s, 4), 0);
}

/* Strokes from now_s on, looked for until until_s; the last signal's number of them. */
static size_t ring_on(struct sh_bell *bell, double now_s, double until_s, double *first_s)
{
    size_t n = 0;
    for (; now_s < until_s; now_s += STEP_S) {
        if (sh_bell_take(bell, now_s) && n++ == 0) {
            *first_s = now_s;
        }
    }
    return n;
}

/* A stop that is cut off after any of its strokes is silent at once, and rung whole later. */
static void test_a_stop_that_is_cut_off_comes_whole(void **state)
{
    for (unsigned n_rung = 0; n_rung < 3; n_rung++) {
        struct sh_bell bell;
        double first_s = 0.0;
        sh_bell_init(&bell);
        sh_bell_ask(&bell, 3);
        for (unsigned i = 0; i < n_rung; i++) {
            assert_true(sh_bell_take(&bell, SH_BELL_STROKE_S * i));
        }
        for (int i = 0; i < 40; i++) {
            sh_bell_hush(&bell); /* as often as somebody looks while the string is pulled */
        }
        assert_int_equal(ring_on(&bell, 5.0, 20.0, &first_s), 3);
        assert_near(first_s, 5.0, 1e-9, 0.0);
    }
}

/* Right after a release: the silence between signals is kept, no strokes add up. */
static void test_cut_off_and_whole_do_not_add_up(void **state)
{
    struct sh_bell bell;
    double first_s = 0.0;
    sh_bell_init(&bell);
    sh_bell_ask(&bell, 3);
    assert_true(sh_bell_take(&bell, 0.0));
    assert_true(sh_bell_take(&bell, 0.6));
    sh_bell_hush(&bell);
    assert_int_equal(ring_on(&bell, 0.8, 20.0, &first_s), 3);
    assert_near(first_s, 0.6 + SH_BELL_SILENCE_S, 1.5 * STEP_S, 0.0);
}

/* To the line, or shoot: no use late. Nor is anything left of a signal that is over. */
static void test_what_is_not_given_late(void **state)
{
    for (unsigned n_strokes = 1; n_strokes < 3; n_strokes++) {
        struct sh_bell bell;
        double first_s = 0.0;
        sh_bell_init(&bell);
        sh_bell_ask(&bell, n_strokes);
        sh_bell_hush(&bell);
        assert_int_equal(ring_on(&bell, 0.0, 20.0, &first_s), 0);
        sh_bell_ask(&bell, n_strokes);
        assert_true(sh_bell_take(&bell, 30.0));
        sh_bell_hush(&bell);
        assert_int_equal(ring_on(&bell, 30.0, 50.0, &first_s), 0);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_signals_ring_at_their_time),
        cmocka_unit_test(test_no_signals_add_up),
        cmocka_unit_test(test_the_last_is_never_left_out),
        cmocka_unit_test(test_what_is_no_signal),
        cmocka_unit_test(test_a_stop_that_is_cut_off_comes_whole),
        cmocka_unit_test(test_cut_off_and_whole_do_not_add_up),
        cmocka_unit_test(test_what_is_not_given_late),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
