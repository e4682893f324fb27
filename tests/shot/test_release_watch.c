/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <stdlib.h>

#include "shot/release_watch.h"
#include "signal/random.h"
#include "support/cmocka_all.h"
#include "support/near.h"

#define REST_N      7.0
#define WEIGHT_N    178.0
#define THRESHOLD_N 62.3 /* 35 % of it */
#define DRAW_S      3.0
#define FULL_S      4.2
#define END_S       7.5

/* A draw: up in 1.2 s, held with a slow tremor, gone within fall_s (10 to 90 %: 0.8 of it). */
static double get_force(double t_s, double fall_s)
{
    const double pi = acos(-1.0);
    const double held_n = WEIGHT_N + 0.5 * sin(2.0 * pi * 8.0 * t_s) + 1.5 * (t_s - FULL_S);
    if (t_s < DRAW_S) {
        return REST_N;
    }
    if (t_s < FULL_S) {
        return REST_N + WEIGHT_N * 0.5 * (1.0 - cos(pi * (t_s - DRAW_S) / (FULL_S - DRAW_S)));
    }
    if (t_s < END_S) {
        return REST_N + held_n;
    }
    return REST_N + held_n * fmax(0.0, 1.0 - (t_s - END_S) / fall_s);
}

/* One channel: sampled, averaged over some samples, noisy. */
struct sensor {
    double rate_hz;
    unsigned n_mean; /* of so many inner samples, each rate_hz */
    double noise_n;
    double fall_s;
    uint64_t seed;
};

struct outcome {
    unsigned n_fired;
    double fired_s; /* time of the sample with which it fired */
    double release_s;
    double hold_s;
    bool has_hold;
};

static double get_sample(const struct sensor *sensor, uint64_t frame)
{
    double sum_n = 0.0;
    for (unsigned i = 0; i < sensor->n_mean; i++) {
        const double t_s = ((double)frame - (double)i) / sensor->rate_hz;
        sum_n += get_force(t_s, sensor->fall_s);
    }
    return sum_n / sensor->n_mean;
}

static struct outcome run(const struct sensor *sensor)
{
    struct sh_release_watch watch;
    struct sh_release_watch_event event;
    struct sh_random random;
    struct outcome outcome = {0};
    sh_random_init(&random, sensor->seed);
    sh_release_watch_init(&watch, sensor->rate_hz, THRESHOLD_N, 0.0, 0);
    for (uint64_t frame = 0; frame < (uint64_t)(12.0 * sensor->rate_hz); frame++) {
        const double force_n =
            get_sample(sensor, frame) + sensor->noise_n * sh_random_get_normal(&random);
        if (sh_release_watch_push(&watch, force_n, false, &event)) {
            outcome.n_fired++;
            outcome.fired_s = (double)frame / sensor->rate_hz;
            outcome.release_s = event.release_frame / sensor->rate_hz;
            outcome.hold_s = (event.release_frame - event.hold_frame) / sensor->rate_hz;
            outcome.has_hold = event.has_hold;
        }
    }
    return outcome;
}

static void test_releases_are_told_soon(void **state)
{
    const struct sensor sensors[] = {
        {1000.0, 1, 0.2, 0.018, 1},
        {1000.0, 20, 0.2, 0.018, 2},
        {80.0, 1, 0.3, 0.018, 3},
        {80.0, 4, 0.3, 0.018, 4}, /* a slow converter: four samples of 12.5 ms settle it */
        {320.0, 2, 1.0, 0.030, 5}};
    for (size_t i = 0; i < sizeof sensors / sizeof sensors[0]; i++) {
        const struct sensor *sensor = &sensors[i];
        const struct outcome outcome = run(sensor);
        const double step_s = 1.0 / sensor->rate_hz;
        const double lag_s = sensor->n_mean * step_s;
        assert_int_equal(outcome.n_fired, 1);
        assert_true(outcome.has_hold);
        assert_near(outcome.release_s, END_S + 0.1 * sensor->fall_s, lag_s + step_s, 0.0);
        /* 90 % of the fall have come, and one sample more */
        const double complete_s = END_S + 0.9 * sensor->fall_s + lag_s;
        assert_true(outcome.fired_s <= complete_s + 2.0 * step_s);
        assert_near(outcome.hold_s, END_S - FULL_S, 0.12, 0.0);
    }
}

/* At every place of the release between two samples. */
static void test_slow_sensor_sees_it_wherever_it_falls(void **state)
{
    for (unsigned i = 0; i < 50; i++) {
        const struct sensor sensor = {80.0 + 0.01 * i, 4, 0.3, 0.012 + 0.0005 * i, i + 10};
        assert_int_equal(run(&sensor).n_fired, 1);
    }
}

static void test_let_downs_are_never_told(void **state)
{
    static const double rates_hz[] = {80.0, 320.0, 1000.0};
    for (unsigned i = 0; i < 60; i++) {
        /* 10 to 90 % of the fall in 0.15 to 4.6 s */
        const double fall_s = (0.15 + 0.075 * i) / 0.8;
        for (size_t k = 0; k < sizeof rates_hz / sizeof rates_hz[0]; k++) {
            const struct sensor sensor = {rates_hz[k], 1, 0.5, fall_s, i + 100};
            assert_int_equal(run(&sensor).n_fired, 0);
        }
    }
}

/* Between a shot and a let-down: on one side of the limit it is told, on the other not. */
static void test_limit_between(void **state)
{
    const struct sensor below = {1000.0, 1, 0.0, 0.080 / 0.8, 1};
    const struct sensor above = {1000.0, 1, 0.0, 0.092 / 0.8, 1};
    assert_int_equal(run(&below).n_fired, 1);
    assert_int_equal(run(&above).n_fired, 0);
}

/* Brought down slowly to a third, then let go: the rest of a let-down. */
static void test_end_of_a_let_down(void **state)
{
    struct sh_release_watch watch;
    struct sh_release_watch_event event;
    unsigned n_fired = 0;
    sh_release_watch_init(&watch, 1000.0, THRESHOLD_N, 0.0, 0);
    for (unsigned frame = 0; frame < 10000; frame++) {
        double force_n = get_force(frame / 1000.0, 3.0);
        if (frame > 9000) {
            force_n = REST_N;
        }
        n_fired += sh_release_watch_push(&watch, force_n, false, &event);
    }
    assert_int_equal(n_fired, 0);
}

static void test_nonsense_reading_and_lost_samples(void **state)
{
    struct sh_release_watch watch;
    struct sh_release_watch_event event;
    sh_release_watch_init(&watch, 1000.0, THRESHOLD_N, 0.0, 0);
    for (unsigned frame = 0; frame < 7000; frame++) {
        double force_n = get_force(frame / 1000.0, 0.02);
        if (frame == 6000 || frame == 6500) {
            force_n = 0.0;
        }
        assert_false(sh_release_watch_push(&watch, force_n, false, &event));
    }
    for (unsigned frame = 7000; frame < 7600; frame++) { /* it goes while nothing comes */
        assert_false(sh_release_watch_push(&watch, REST_N + WEIGHT_N, true, &event));
    }
    for (unsigned frame = 7600; frame < 9000; frame++) {
        assert_false(sh_release_watch_push(&watch, REST_N, false, &event));
    }
}

static void test_each_draw_again(void **state)
{
    struct sh_release_watch watch;
    struct sh_release_watch_event event;
    unsigned n_fired = 0;
    sh_release_watch_init(&watch, 80.0, THRESHOLD_N, 0.0, 0);
    for (unsigned frame = 0; frame < 5 * 12 * 80; frame++) {
        n_fired += sh_release_watch_push(&watch, get_force(fmod(frame / 80.0, 12.0), 0.02),
                                         false, &event);
    }
    assert_int_equal(n_fired, 5);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_releases_are_told_soon),
        cmocka_unit_test(test_slow_sensor_sees_it_wherever_it_falls),
        cmocka_unit_test(test_let_downs_are_never_told),
        cmocka_unit_test(test_limit_between),
        cmocka_unit_test(test_end_of_a_let_down),
        cmocka_unit_test(test_nonsense_reading_and_lost_samples),
        cmocka_unit_test(test_each_draw_again),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
