/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "finding/limit_lane.h"

#include <math.h>

#include "support/cmocka_all.h"
#include "support/near.h"

#define RATE_HZ 1000.0
#define SCALE_N 0.01

static const struct sh_channel channel = {.role = SH_ROLE_FINGER_FORCE,
                                          .finger = SH_FINGER_RING,
                                          .scale = SCALE_N,
                                          .scale_u = 0.01 * SCALE_N,
                                          .zero = 800.0,
                                          .has_range = true,
                                          .range_low = 0.0,
                                          .range_high = 10000.0};

static void push(struct sh_limit_lane *lane, double force_n, size_t n, bool is_drawn)
{
    for (size_t i = 0; i < n; i++) {
        double raw = 800.0 + round(force_n / SCALE_N);
        sh_limit_lane_push(lane, raw, SCALE_N * (raw - 800.0), false, is_drawn);
        sh_limit_lane_mark_total(lane, 3.0 * force_n);
    }
}

static struct sh_limit_lane open_lane(void)
{
    struct sh_limit_lane lane;
    assert_int_equal(sh_limit_lane_open(&channel, RATE_HZ, 0, &lane), SH_OK);
    return lane;
}

/* Two newtons of rest are taken off; 40 N for one second are 40 N s. */
static void test_net_force_and_impulse(void **state)
{
    struct sh_limit_lane lane = open_lane();
    push(&lane, 2.0, 3000, false);
    sh_limit_lane_begin(&lane);
    for (size_t i = 0; i < 1000; i++) {
        sh_limit_lane_push(&lane, 5000.0, 42.0, false, true);
    }
    assert_near(lane.net_n, 40.0, 1e-9, 0);
    struct sh_quantity peak = sh_limit_lane_get_peak_n(&lane);
    struct sh_quantity impulse = sh_limit_lane_get_impulse_n_s(&lane, 120.0);
    assert_near(peak.value, 40.0, 1e-9, 0);
    assert_near(peak.u, 0.4, 0.005, 0);
    assert_near(impulse.value, 40.0, 1e-9, 0);
    assert_near(impulse.u, 40.0 * hypot(0.01, SH_LIMIT_LANE_START_U), 0.05, 0);
    sh_limit_lane_close(&lane);
    sh_limit_lane_close(&lane);
}

/* One sample of 400 N is no peak: its 20 ms mean counts. */
static void test_a_spike_is_a_mean(void **state)
{
    struct sh_limit_lane lane = open_lane();
    push(&lane, 0.0, 1000, false);
    sh_limit_lane_begin(&lane);
    push(&lane, 80.0, 1, true);
    push(&lane, 0.0, 100, true);
    assert_near(sh_limit_lane_get_peak_n(&lane).value, 4.0, 1e-9, 0);
    sh_limit_lane_close(&lane);
}

/* Five seconds of preload under a quarter of the largest total are not of the draw. */
static void test_where_the_impulse_begins(void **state)
{
    struct sh_limit_lane lane = open_lane();
    push(&lane, 0.0, 1000, false);
    sh_limit_lane_begin(&lane);
    push(&lane, 5.0, 300, false); /* 15 N in all: under 27 of 120 and over 2 of 10 */
    struct sh_quantity small = sh_limit_lane_get_impulse_n_s(&lane, 15.0);
    assert_near(small.value, 1.5, 0.02, 0);
    push(&lane, 40.0, 1000, true);
    struct sh_quantity impulse = sh_limit_lane_get_impulse_n_s(&lane, 120.0);
    assert_near(impulse.value, 40.0, 0.05, 0);
    sh_limit_lane_close(&lane);
}

static void test_what_makes_it_unknown(void **state)
{
    struct sh_limit_lane lane = open_lane();
    push(&lane, 0.0, 1000, false);
    sh_limit_lane_begin(&lane);
    push(&lane, 0.0, 100, true);
    assert_true(sh_limit_lane_is_dead(&lane));
    push(&lane, 0.01, 1, true);
    assert_false(sh_limit_lane_is_dead(&lane));
    assert_false(lane.is_clipped);
    push(&lane, 91.99, 1, true);
    assert_false(lane.is_clipped);
    push(&lane, 92.0, 1, true);
    assert_true(lane.is_clipped);
    assert_false(lane.has_gap);
    sh_limit_lane_push(&lane, 800.0, 0.0, true, true);
    assert_true(lane.has_gap);
    sh_limit_lane_begin(&lane);
    assert_false(lane.is_clipped || lane.has_gap);
    assert_near(lane.peak_n, 0.0, 0, 0);
    sh_limit_lane_close(&lane);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_net_force_and_impulse),
        cmocka_unit_test(test_a_spike_is_a_mean),
        cmocka_unit_test(test_where_the_impulse_begins),
        cmocka_unit_test(test_what_makes_it_unknown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
