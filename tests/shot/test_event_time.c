/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shot/event_time.h"

#include <math.h>

#include "support/cmocka_all.h"
#include "support/near.h"

#define N 1000u

static const struct sh_stream described = {.rate_hz = 100.0, .n_channels = 1};

struct fixture {
    double time_s[N];
    unsigned char flags[N];
    struct sh_shot_view view;
};

static void fill(struct fixture *f)
{
    *f = (struct fixture){.view = {.n_streams = 1}};
    for (size_t i = 0; i < N; i++) {
        f->time_s[i] = 7.0 + 0.01 * (double)i;
    }
    f->view.stream[0] = (struct sh_shot_stream){
        .stream = &described, .n_frames = N, .time_s = f->time_s, .flags = f->flags};
    f->view.force = (struct sh_shot_force){
        .rate_hz = 100.0, .delay_s = 0.002, .delay_u_s = 0.003, .time_u_s = 0.004};
}

static void test_clock_and_delay(void **state)
{
    struct fixture f;
    fill(&f);
    const struct sh_quantity frame = sh_quantity_known(500.5, 1.2);
    const struct sh_quantity time_s = sh_event_time_get(&f.view, &frame);
    assert_true(sh_quantity_is_known(&time_s));
    assert_false(time_s.has_interval);
    assert_near(time_s.value, 12.003, 1e-9, 0.0);
    assert_near(time_s.u, 0.013, 1e-9, 0.0); /* 0.012, 0.003 and 0.004 */
}

/* An interval that is not normal stays as lopsided as it was. */
static void test_interval(void **state)
{
    struct fixture f;
    fill(&f);
    struct sh_quantity frame = sh_quantity_known(500.5, 1.2);
    frame.has_interval = true;
    frame.lo = 500.2;
    frame.hi = 501.5;
    f.flags[501] = SH_SHOT_FLAG_FILLED;
    const struct sh_quantity time_s = sh_event_time_map(&f.view, &frame);
    assert_near(time_s.value, 12.003, 1e-9, 0.0);
    assert_near(time_s.u, 0.013, 1e-9, 0.0);
    assert_true(time_s.has_interval);
    assert_near(time_s.value - time_s.lo, hypot(0.003, 1.959964 * 0.005), 1e-6, 0.0);
    assert_near(time_s.hi - time_s.value, hypot(0.01, 1.959964 * 0.005), 1e-6, 0.0);
}

static void test_gaps_hide_what_is_near(void **state)
{
    struct fixture f;
    fill(&f);
    const struct sh_quantity frame = sh_quantity_known(500.0, 0.0);
    f.flags[511] = SH_SHOT_FLAG_FILLED;
    f.flags[489] = SH_SHOT_FLAG_FILLED;
    struct sh_quantity time_s = sh_event_time_get(&f.view, &frame);
    assert_true(sh_quantity_is_known(&time_s));
    f.flags[510] = SH_SHOT_FLAG_FILLED;
    time_s = sh_event_time_get(&f.view, &frame);
    assert_int_equal(time_s.why, SH_WHY_GAP);
    assert_true(sh_event_time_is_lost(&f.view, -50.0, 489.0));
    assert_false(sh_event_time_is_lost(&f.view, -50.0, 488.9));
    assert_false(sh_event_time_is_lost(&f.view, 511.1, 1e9));
}

/* A force at its sensor's range goes no further: that is no full draw. */
static void test_so_does_a_range_that_is_reached(void **state)
{
    struct fixture f;
    fill(&f);
    const struct sh_quantity frame = sh_quantity_known(500.0, 0.0);
    f.flags[511] = SH_SHOT_FLAG_FULL;
    f.flags[500] = SH_SHOT_FLAG_CLIPPED; /* another channel, or a force at rest */
    struct sh_quantity time_s = sh_event_time_get(&f.view, &frame);
    assert_true(sh_quantity_is_known(&time_s));
    f.flags[505] = SH_SHOT_FLAG_FULL;
    time_s = sh_event_time_get(&f.view, &frame);
    assert_int_equal(time_s.why, SH_WHY_CLIPPED);
    time_s = sh_event_time_map(&f.view, &frame);
    assert_true(sh_quantity_is_known(&time_s));
    assert_true(sh_event_time_is_clipped(&f.view, 505.0, 505.0));
    assert_false(sh_event_time_is_clipped(&f.view, 505.1, 510.9));
}

static void test_unknown_stays_unknown(void **state)
{
    struct fixture f;
    fill(&f);
    const struct sh_quantity frame = sh_quantity_unknown(SH_WHY_NOT_SEEN);
    assert_int_equal(sh_event_time_get(&f.view, &frame).why, SH_WHY_NOT_SEEN);
    assert_int_equal(sh_event_time_map(&f.view, &frame).why, SH_WHY_NOT_SEEN);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_clock_and_delay),
        cmocka_unit_test(test_interval),
        cmocka_unit_test(test_gaps_hide_what_is_near),
        cmocka_unit_test(test_so_does_a_range_that_is_reached),
        cmocka_unit_test(test_unknown_stays_unknown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
