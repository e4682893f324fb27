/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shot/rest.h"

#include <math.h>

#include "signal/random.h"
#include "support/cmocka_all.h"
#include "support/near.h"

#define RATE_HZ 1000.0

struct feed {
    struct sh_rest rest;
    struct sh_random random;
    double noise_n;
    double rate_hz;
};

static void start(struct feed *feed, double rate_hz, double noise_n)
{
    sh_rest_init(&feed->rest, rate_hz, 0.0125, 0);
    sh_random_init(&feed->random, 11);
    feed->noise_n = noise_n;
    feed->rate_hz = rate_hz;
}

/* A straight line from one force to another over time_s, with noise. */
static void push_line(struct feed *feed, double time_s, double from_n, double to_n)
{
    const int n = (int)floor(time_s * feed->rate_hz + 0.5);
    for (int i = 0; i < n; i++) {
        const double force_n = from_n + (to_n - from_n) * i / n;
        const double noise_n = feed->noise_n * sh_random_get_normal(&feed->random);
        sh_rest_push(&feed->rest, force_n + noise_n, false);
    }
}

static struct sh_rest_level choose(const struct feed *feed, const double *after_n)
{
    struct sh_rest_level level;
    sh_rest_choose(&feed->rest, UINT64_MAX, after_n, &level);
    assert_true(sh_quantity_is_known(&level.level_n));
    return level;
}

/* Level and noise of plain rest, at rates from 10 Hz to 10 kHz; the spread of the level over
 * many seeds is no larger than its stated uncertainty. */
static void test_plain_rest(void **state)
{
    static const double rates_hz[] = {10.0, 80.0, 1000.0, 10000.0};
    for (size_t r = 0; r < 4; r++) {
        double square = 0.0;
        for (uint64_t seed = 0; seed < 20; seed++) {
            struct feed feed;
            start(&feed, rates_hz[r], 0.2);
            sh_random_init(&feed.random, seed);
            push_line(&feed, 6.0, 3.0, 3.0);
            const struct sh_rest_level level = choose(&feed, NULL);
            const double off = (level.level_n.value - 3.0) / level.level_n.u;
            square += off * off / 20.0;
            assert_near(level.white_n, 0.2, 0.0, rates_hz[r] < 100.0 ? 0.4 : 0.1);
            assert_near(level.noise_n, 0.2, 0.0, rates_hz[r] < 100.0 ? 0.4 : 0.1);
        }
        assert_true(square < 1.5);
    }
}

static void test_without_noise_the_resolution_is_left(void **state)
{
    struct feed feed;
    start(&feed, RATE_HZ, 0.0);
    push_line(&feed, 3.0, 1.25, 1.25);
    const struct sh_rest_level level = choose(&feed, NULL);
    assert_near(level.level_n.value, 1.25, 1e-12, 0.0);
    assert_near(level.level_n.u, 0.0125 / sqrt(12.0), 1e-9, 0.0);
    assert_near(level.white_n, 0.0125 / sqrt(12.0), 1e-9, 0.0);
}

/* Hum is noise, but not white noise. */
static void test_hum_is_not_white(void **state)
{
    struct feed feed;
    start(&feed, RATE_HZ, 0.0);
    for (int i = 0; i < 4000; i++) {
        sh_rest_push(&feed.rest, sin(0.1 * 3.14159265 * i), false); /* 50 Hz */
    }
    const struct sh_rest_level level = choose(&feed, NULL);
    assert_near(level.noise_n, sqrt(0.5), 0.0, 0.02);
    assert_true(level.white_n < 0.25);
}

/* The draw that follows a preload finds the level before it. */
static void test_preload_is_not_rest(void **state)
{
    static const double holds_s[] = {0.3, 1.0, 4.0, 7.5};
    for (size_t i = 0; i < 4; i++) {
        for (int k = 0; k < 6; k++) {
            const double preload_n = 5.0 + 6.0 * k;
            struct feed feed;
            start(&feed, RATE_HZ, 0.2);
            push_line(&feed, 5.0, 0.5, 0.5);
            push_line(&feed, 0.4, 0.5, preload_n);
            push_line(&feed, holds_s[i], preload_n, preload_n);
            push_line(&feed, 0.4, preload_n, 100.0);
            assert_near(sh_rest_get_level(&feed.rest), 0.5, 0.15, 0.0);
            assert_near(choose(&feed, NULL).level_n.value, 0.5, 0.15, 0.0);
            const double after_n = 0.8;
            assert_near(choose(&feed, &after_n).level_n.value, 0.5, 0.15, 0.0);
        }
    }
}

/* Nocking, a knock and a spike on the way leave the level where it was. */
static void test_bumps_and_knocks_fall_out(void **state)
{
    struct feed feed;
    start(&feed, RATE_HZ, 0.2);
    push_line(&feed, 4.0, 0.0, 0.0);
    push_line(&feed, 0.15, 0.0, 6.0); /* nocking */
    push_line(&feed, 0.7, 6.0, 6.5);
    push_line(&feed, 0.15, 6.5, 0.0);
    push_line(&feed, 0.6, 0.0, 0.0);
    push_line(&feed, 0.02, 60.0, -40.0); /* knock */
    push_line(&feed, 1.0, 0.0, 0.0);
    push_line(&feed, 0.001, 500.0, 500.0); /* spike */
    push_line(&feed, 0.5, 0.0, 0.0);
    push_line(&feed, 0.5, -8.0, -8.0); /* the bow hangs in its string */
    push_line(&feed, 0.6, 0.0, 0.0);
    const double after_n = 0.1;
    assert_near(choose(&feed, &after_n).level_n.value, 0.0, 0.06, 0.0);
}

/* The zero goes up or down: at once with a level after the draw, later without one. */
static void test_zero_steps(void **state)
{
    struct feed feed;
    start(&feed, RATE_HZ, 0.2);
    push_line(&feed, 10.0, 0.0, 0.0);
    push_line(&feed, 3.0, 15.0, 15.0);
    const double after_n = 15.3;
    assert_near(choose(&feed, NULL).level_n.value, 0.0, 0.15, 0.0);
    const struct sh_rest_level level = choose(&feed, &after_n);
    assert_near(level.level_n.value, 15.0, 0.06, 0.0);
    assert_true(level.level_n.u > 0.3 / sqrt(12.0) * 0.9);
    push_line(&feed, 6.0, 15.0, 15.0);
    assert_near(sh_rest_get_level(&feed.rest), 15.0, 0.15, 0.0);
    push_line(&feed, 1.0, -15.0, -15.0);
    assert_near(sh_rest_get_level(&feed.rest), -15.0, 0.15, 0.0);
}

static void test_follows_slow_drift(void **state)
{
    struct feed feed;
    start(&feed, RATE_HZ, 0.1);
    push_line(&feed, 100.0, 0.0, 20.0); /* 0.2 N/s */
    assert_near(sh_rest_get_level(&feed.rest), 20.0, 0.7, 0.0);
}

static void test_forget_takes_a_hold_away(void **state)
{
    struct feed feed;
    start(&feed, RATE_HZ, 0.2);
    push_line(&feed, 3.0, 0.0, 0.0);
    push_line(&feed, 10.0, 178.0, 178.0);
    assert_near(sh_rest_get_level(&feed.rest), 178.0, 0.2, 0.0);
    struct sh_rest_level level;
    sh_rest_choose(&feed.rest, 3000, NULL, &level);
    assert_near(level.level_n.value, 0.0, 0.1, 0.0);
    sh_rest_forget(&feed.rest, 3000);
    assert_near(sh_rest_get_level(&feed.rest), 0.0, 0.1, 0.0);
    sh_rest_forget(&feed.rest, 0);
    sh_rest_choose(&feed.rest, UINT64_MAX, NULL, &level);
    assert_true(sh_quantity_is_known(&level.level_n)); /* the lowest block is left */
    assert_near(level.level_n.u, SH_REST_TOLERANCE_N, 1e-12, 0.0);
}

static void test_filled_samples_count_for_nothing(void **state)
{
    struct feed feed;
    start(&feed, RATE_HZ, 0.2);
    push_line(&feed, 2.0, 0.0, 0.0);
    const double level_n = sh_rest_get_level(&feed.rest);
    for (int i = 0; i < 2000; i++) {
        sh_rest_push(&feed.rest, 4.0, true);
    }
    assert_near(sh_rest_get_level(&feed.rest), level_n, 0.0, 0.0);
    struct sh_rest_level level;
    struct sh_rest empty;
    sh_rest_init(&empty, RATE_HZ, 0.0, 0);
    sh_rest_choose(&empty, UINT64_MAX, NULL, &level);
    assert_int_equal(level.level_n.why, SH_WHY_TOO_SHORT);
    assert_near(sh_rest_get_level(&empty), 0.0, 0.0, 0.0);
}

/* More plateaus than are kept: the oldest go, the latest stay. */
static void test_many_plateaus(void **state)
{
    struct feed feed;
    start(&feed, RATE_HZ, 0.1);
    for (int i = 0; i < 40; i++) {
        push_line(&feed, 0.6, 5.0 * i, 5.0 * i);
    }
    assert_int_equal(feed.rest.n_past, SH_REST_PLATEAUS_MAX);
    const double after_n = 5.0 * 39;
    assert_near(choose(&feed, &after_n).level_n.value, after_n, 0.1, 0.0);
    assert_near(choose(&feed, NULL).level_n.value, 5.0 * (39 - 16), 0.1, 0.0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_plain_rest),
        cmocka_unit_test(test_without_noise_the_resolution_is_left),
        cmocka_unit_test(test_hum_is_not_white),
        cmocka_unit_test(test_preload_is_not_rest),
        cmocka_unit_test(test_bumps_and_knocks_fall_out),
        cmocka_unit_test(test_zero_steps),
        cmocka_unit_test(test_follows_slow_drift),
        cmocka_unit_test(test_forget_takes_a_hold_away),
        cmocka_unit_test(test_filled_samples_count_for_nothing),
        cmocka_unit_test(test_many_plateaus),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
