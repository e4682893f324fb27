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

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_signals_ring_at_their_time),
        cmocka_unit_test(test_no_signals_add_up),
        cmocka_unit_test(test_the_last_is_never_left_out),
        cmocka_unit_test(test_what_is_no_signal),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
