/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sensor/device_clock.h"

#include <math.h>
#include <string.h>

#include "signal/random.h"
#include "support/cmocka_all.h"
#include "support/near.h"

#define N_RUNS 60

/*
 * A simulated way from a device to the host: a frame each millisecond; the adapter hands over
 * what it has every 16.0037 ms (a common serial adapter's 16 ms, not locked to the frames), the
 * host wakes up a little later, and at times does not read for up to 3 s.
 */
struct way {
    double drift_ratio;  /* host seconds a device second takes, less 1 */
    double swing_ratio;  /* warming: the rate swings by this, over 10 minutes */
    double poll_us;      /* 0: each frame alone */
    double wake_us;      /* mean of an exponential */
    double stall_chance; /* per frame */
    double start_us;     /* the host's clock at the first frame */
    struct sh_random random;
    double polled_us; /* the poll that is being waited for, and when it was read */
    double read_us;
    double stalled_until_us;
    double last_us;
};

static struct way make_way(uint64_t seed)
{
    struct way way = {.poll_us = 16003.7, .wake_us = 200.0, .polled_us = -1.0};
    sh_random_init(&way.random, seed);
    return way;
}

static double draw_exponential(struct sh_random *random, double mean)
{
    return -mean * log(1.0 - sh_random_get_uniform(random));
}

static double arrive(struct way *way, double true_us)
{
    double poll_us = way->poll_us > 0.0 ? way->poll_us * ceil(true_us / way->poll_us) : true_us;
    if (poll_us > way->polled_us || way->poll_us <= 0.0) {
        way->polled_us = poll_us;
        way->read_us = poll_us + draw_exponential(&way->random, way->wake_us);
    }
    double read_us = way->read_us;
    if (sh_random_get_uniform(&way->random) < way->stall_chance) {
        way->stalled_until_us = true_us + 3e6 * sh_random_get_uniform(&way->random);
    }
    read_us = fmax(read_us, fmax(way->stalled_until_us, way->last_us));
    way->last_us = read_us;
    return read_us + way->start_us;
}

static double device_time_us(const struct way *way, double true_us)
{
    double turn_us = 600e6 / 6.283185307179586;
    double swing_us = way->swing_ratio * turn_us * (1.0 - cos(true_us / turn_us));
    return (true_us - swing_us) / (1.0 + way->drift_ratio);
}

static struct sh_device_clock make_clock(void)
{
    struct sh_device_clock clock;
    struct sh_device_clock_config config = sh_device_clock_config_default();
    config.latency_u_s = 0.0;
    assert_int_equal(sh_device_clock_init(&clock, &config), SH_OK);
    return clock;
}

/* Pushes the frames of [from_s, to_s). */
static void run(struct sh_device_clock *clock, struct way *way, double from_s, double to_s)
{
    for (int64_t i = (int64_t)(1e3 * from_s); i < (int64_t)(1e3 * to_s); i++) {
        double t_us = 1000.0 * (double)i;
        int64_t host_us = (int64_t)arrive(way, t_us);
        sh_device_clock_push(clock, host_us, (uint32_t)(int64_t)device_time_us(way, t_us));
    }
}

/* Error of the line for a frame at to_s; its uncertainty in u_us. */
static double
error_us(const struct sh_device_clock *clock, const struct way *way, double at_s, double *u_us)
{
    struct sh_device_clock_line line;
    assert_int_equal(sh_device_clock_get_line(clock, &line), SH_OK);
    double host_us =
        sh_device_clock_line_host(&line, device_time_us(way, 1e6 * at_s), u_us) - way->start_us;
    return host_us - 1e6 * at_s;
}

static void test_no_arrival(void **state)
{
    struct sh_device_clock clock = make_clock();
    struct sh_device_clock_line line;
    assert_int_equal(sh_device_clock_get_line(&clock, &line), SH_ERR_SHORT);
}

static void test_config_limits(void **state)
{
    struct sh_device_clock clock;
    struct sh_device_clock_config bad[6];
    for (size_t i = 0; i < 6; i++) {
        bad[i] = sh_device_clock_config_default();
    }
    bad[0].latency_s = -1e-9;
    bad[1].latency_u_s = -1e-9;
    bad[2].drift_u_ratio = 0.1;
    bad[3].drift_max_ratio = 0.1;
    bad[4].latency_s = (double)NAN;
    bad[5].latency_u_s = (double)INFINITY;
    for (size_t i = 0; i < 6; i++) {
        assert_int_equal(sh_device_clock_init(&clock, &bad[i]), SH_ERR_ARGUMENT);
    }
    bad[2].drift_u_ratio = 0.0999;
    bad[3].drift_max_ratio = 0.0;
    assert_int_equal(sh_device_clock_init(&clock, &bad[2]), SH_OK);
    assert_int_equal(sh_device_clock_init(&clock, &bad[3]), SH_OK);
}

/* Arrivals without any delay give the rate and the times exactly. */
static void test_exact_arrivals(void **state)
{
    struct sh_device_clock clock = make_clock();
    struct way way = make_way(1);
    way.poll_us = 0.0;
    way.wake_us = 0.0;
    way.drift_ratio = 150e-6;
    way.start_us = 5e9;
    run(&clock, &way, 0.0, 20.0);
    struct sh_device_clock_line line;
    assert_int_equal(sh_device_clock_get_line(&clock, &line), SH_OK);
    assert_near(line.drift_ratio, 150e-6, 2e-7, 0.0);
    double u_us = 0.0;
    assert_near(error_us(&clock, &way, 20.0, &u_us), 0.0, 2.0, 0.0);
    assert_near(u_us, 30.0, 2.0, 0.0);
    double back_us = sh_device_clock_line_device(&line, 5e9 + 20e6);
    assert_near(back_us, device_time_us(&way, 20e6), 2.0, 0.0);
}

static void test_latency_is_taken_off(void **state)
{
    struct sh_device_clock clock;
    struct sh_device_clock_config config = sh_device_clock_config_default();
    config.latency_s = 0.004;
    config.latency_u_s = 0.001;
    assert_int_equal(sh_device_clock_init(&clock, &config), SH_OK);
    struct way way = make_way(1);
    way.poll_us = 0.0;
    way.wake_us = 0.0;
    run(&clock, &way, 0.0, 20.0);
    double u_us = 0.0;
    assert_near(error_us(&clock, &way, 20.0, &u_us), -4000.0, 2.0, 0.0);
    assert_near(u_us, 1000.5, 0.5, 0.0);
}

struct spread {
    double rms_us;
    double u_us;
    int n_within_u;
    int n_within_2u;
};

static struct spread repeat(double seconds, double stall_chance, double swing_ratio)
{
    struct spread spread = {0};
    for (uint64_t seed = 1; seed <= N_RUNS; seed++) {
        struct sh_device_clock clock = make_clock();
        struct way way = make_way(seed);
        way.drift_ratio = 300e-6 * sh_random_get_normal(&way.random);
        way.stall_chance = stall_chance;
        way.swing_ratio = swing_ratio;
        run(&clock, &way, 0.0, seconds);
        double u_us = 0.0;
        double error = error_us(&clock, &way, seconds, &u_us);
        spread.rms_us += error * error / N_RUNS;
        spread.u_us += u_us / N_RUNS;
        spread.n_within_u += fabs(error) <= u_us;
        spread.n_within_2u += fabs(error) <= 2.0 * u_us;
    }
    spread.rms_us = sqrt(spread.rms_us);
    print_message("%5.0f s: rms %.1f us, u %.1f us, within u %d, 2 u %d of %d\n", seconds,
                  spread.rms_us, spread.u_us, spread.n_within_u, spread.n_within_2u, N_RUNS);
    return spread;
}

/* Limits on the error, and an uncertainty that is neither too small nor idly large. */
static void test_simulated_adapters(void **state)
{
    static const double seconds[] = {2.0, 12.0, 30.0, 100.0};
    static const double rms_max_us[] = {800.0, 150.0, 70.0, 45.0};
    static const double u_max_us[] = {2000.0, 200.0, 100.0, 60.0};
    for (size_t i = 0; i < 4; i++) {
        struct spread spread = repeat(seconds[i], 0.0, 0.0);
        assert_true(spread.rms_us < rms_max_us[i]);
        assert_true(spread.u_us < u_max_us[i]);
        assert_true(spread.n_within_u >= 0.68 * N_RUNS);
        assert_true(spread.n_within_2u >= 0.95 * N_RUNS);
    }
}

/* A host that does not read for seconds, about every 5 s, moves the line little. */
static void test_a_stalling_host(void **state)
{
    struct spread spread = repeat(60.0, 2e-4, 0.0);
    assert_true(spread.rms_us < 60.0);
    assert_true(spread.n_within_u >= 0.68 * N_RUNS);
}

/* 5 ppm to and fro in ten minutes, as a device in the sun does. */
static void test_a_warming_device(void **state)
{
    struct spread spread = repeat(400.0, 0.0, 5e-6);
    assert_true(spread.rms_us < 150.0);
}

static void test_wraps(void **state)
{
    struct sh_device_clock clock = make_clock();
    int64_t true_us = 4294900000;
    int64_t expected_us = true_us;
    for (int i = 0; i < 6; i++) {
        int64_t got_us = sh_device_clock_push(&clock, true_us + 777, (uint32_t)true_us);
        assert_int_equal(got_us, expected_us);
        int64_t step_us = i % 2 == 0 ? 90000 : 3 * ((int64_t)UINT32_MAX + 1) + 12345;
        true_us += step_us;
        expected_us += step_us;
    }
    assert_int_equal(clock.n_restarts, 0);
}

/* A frame that comes behind its successor keeps its own time. */
static void test_order_of_frames(void **state)
{
    struct sh_device_clock clock = make_clock();
    assert_int_equal(sh_device_clock_push(&clock, 0, 5000000), 5000000);
    assert_int_equal(sh_device_clock_push(&clock, 10, 5002000), 5002000);
    assert_int_equal(sh_device_clock_push(&clock, 20, 5001000), 5001000);
    assert_int_equal(sh_device_clock_push(&clock, 30, 4002000), 4002000);
    assert_int_equal(clock.n_restarts, 0);
    assert_true(sh_device_clock_push(&clock, 40, 4001999) > 5002000);
    assert_int_equal(clock.n_restarts, 1);
}

/* Frames that waited 25 s are late, not a device that began anew. */
static void test_a_long_stall_is_no_restart(void **state)
{
    struct sh_device_clock clock = make_clock();
    struct way way = make_way(3);
    run(&clock, &way, 0.0, 20.0);
    way.stalled_until_us = 45e6;
    run(&clock, &way, 20.0, 60.0);
    assert_int_equal(clock.n_restarts, 0);
    double u_us = 0.0;
    assert_near(error_us(&clock, &way, 60.0, &u_us), 0.0, 150.0, 0.0);
}

/* After a new start of the device its time goes on by the host's clock, and the rate stays. */
static void check_restart(double counter_at_start_us)
{
    struct sh_device_clock clock = make_clock();
    struct way way = make_way(4);
    way.drift_ratio = 200e-6;
    run(&clock, &way, 0.0, 30.0);
    int64_t before_us = clock.newest_us;
    int64_t first_us = 0;
    for (int i = 0; i < 3000; i++) {
        double t_us = 35e6 + 1000.0 * i;
        double counter = counter_at_start_us + 1000.0 * i / (1.0 + way.drift_ratio);
        int64_t got_us = sh_device_clock_push(&clock, (int64_t)arrive(&way, t_us),
                                              (uint32_t)(int64_t)counter);
        first_us = i == 0 ? got_us : first_us;
        assert_near((double)(got_us - first_us), 1000.0 * i, 2.0, 3e-4);
    }
    assert_int_equal(clock.n_restarts, 1);
    assert_near((double)(first_us - before_us), 5.001e6, 20e3, 0.0);
    struct sh_device_clock_line line;
    assert_int_equal(sh_device_clock_get_line(&clock, &line), SH_OK);
    assert_near(line.drift_ratio, 200e-6, 3e-6, 0.0);
    double device_us = (double)first_us + 2e6 / (1.0 + way.drift_ratio);
    double u_us = 0.0;
    double late_us = sh_device_clock_line_host(&line, device_us, &u_us) - 37e6;
    assert_near(late_us, 0.0, 300.0, 0.0);
}

static void test_restarts(void **state)
{
    check_restart(0.0);
    check_restart(100e6);  /* ahead of the host's clock */
    check_restart(3000e6); /* behind it, the shorter way round */
    check_restart(UINT32_MAX - 1000.0);
}

static void test_reset_is_fresh_and_start_shifts_only(void **state)
{
    struct sh_device_clock clock = make_clock();
    struct sh_device_clock other = make_clock();
    struct way way = make_way(5);
    struct way later = make_way(6);
    run(&clock, &later, 3.0, 9.0);
    sh_device_clock_reset(&clock);
    later = way;
    later.start_us = 7e12;
    run(&clock, &later, 0.0, 15.0);
    run(&other, &way, 0.0, 15.0);
    struct sh_device_clock_line a;
    struct sh_device_clock_line b;
    assert_int_equal(sh_device_clock_get_line(&clock, &a), SH_OK);
    assert_int_equal(sh_device_clock_get_line(&other, &b), SH_OK);
    assert_near(a.host_us - b.host_us, 7e12, 2.0, 0.0);
    assert_near(a.drift_ratio, b.drift_ratio, 2e-7, 0.0);
    assert_int_equal(a.device_us, b.device_us);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_no_arrival),
        cmocka_unit_test(test_config_limits),
        cmocka_unit_test(test_exact_arrivals),
        cmocka_unit_test(test_latency_is_taken_off),
        cmocka_unit_test(test_simulated_adapters),
        cmocka_unit_test(test_a_stalling_host),
        cmocka_unit_test(test_a_warming_device),
        cmocka_unit_test(test_wraps),
        cmocka_unit_test(test_order_of_frames),
        cmocka_unit_test(test_a_long_stall_is_no_restart),
        cmocka_unit_test(test_restarts),
        cmocka_unit_test(test_reset_is_fresh_and_start_shifts_only),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
