/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sensor/timebase.h"

#include <math.h>

#include "support/cmocka_all.h"
#include "support/near.h"

static void test_nominal(void **state)
{
    struct sh_timebase timebase;
    assert_int_equal(sh_timebase_init(&timebase, 1000.0, 0.5, 0.0002), SH_OK);
    double u_s = 0.0;
    assert_near(sh_timebase_time(&timebase, SH_TIMEBASE_FORWARD, 2500.0, &u_s), 3.0, 1e-15,
                0.0);
    assert_near(u_s, 0.0002, 0.0, 0.0);
    assert_near(sh_timebase_frame(&timebase, SH_TIMEBASE_BETWEEN, 3.0), 2500.0, 1e-9, 0.0);
    assert_int_equal(sh_timebase_init(&timebase, 0.0, 0.0, 0.0), SH_ERR_ARGUMENT);
    assert_int_equal(sh_timebase_init(&timebase, (double)NAN, 0.0, 0.0), SH_ERR_ARGUMENT);
    assert_int_equal(sh_timebase_init(&timebase, 80.0, 0.0, -1.0), SH_ERR_ARGUMENT);
}

static void fill(struct sh_timebase *timebase)
{
    assert_int_equal(sh_timebase_init(timebase, 1000.0, 0.0, 0.0), SH_OK);
    assert_int_equal(sh_timebase_append(timebase, &(struct sh_anchor){0, 0.0, 0.001}), SH_OK);
    assert_int_equal(sh_timebase_append(timebase, &(struct sh_anchor){1000, 1.001, 0.0002}),
                     SH_OK);
    assert_int_equal(sh_timebase_append(timebase, &(struct sh_anchor){3000, 3.005, 0.0001}),
                     SH_OK);
}

/* Each reading from the sentences of docs: forward extrapolates, between interpolates. */
static void test_readings(void **state)
{
    struct sh_timebase timebase;
    fill(&timebase);
    assert_near(sh_timebase_time(&timebase, SH_TIMEBASE_FORWARD, 999.0, NULL), 0.999, 1e-12, 0);
    assert_near(sh_timebase_time(&timebase, SH_TIMEBASE_FORWARD, 1000.0, NULL), 1.001, 0, 0);
    assert_near(sh_timebase_time(&timebase, SH_TIMEBASE_FORWARD, 2000.0, NULL),
                1.001 + 1000 * 0.001001, 1e-12, 0);
    assert_near(sh_timebase_time(&timebase, SH_TIMEBASE_BETWEEN, 500.0, NULL), 0.5005, 1e-12,
                0);
    assert_near(sh_timebase_time(&timebase, SH_TIMEBASE_BETWEEN, 2000.0, NULL), 2.003, 1e-12,
                0);
    assert_near(sh_timebase_time(&timebase, SH_TIMEBASE_BETWEEN, 4000.0, NULL),
                3.005 + 1000 * 0.001002, 1e-12, 0);
    double u_s = 0.0;
    (void)sh_timebase_time(&timebase, SH_TIMEBASE_BETWEEN, 500.0, &u_s);
    assert_near(u_s, hypot(0.5 * 0.001, 0.5 * 0.0002), 1e-12, 0);
    (void)sh_timebase_time(&timebase, SH_TIMEBASE_BETWEEN, 1000.0, &u_s);
    assert_near(u_s, 0.0002, 1e-12, 0);
    (void)sh_timebase_time(&timebase, SH_TIMEBASE_FORWARD, 3000.0, &u_s);
    assert_near(u_s, 0.0001, 0, 0);
    (void)sh_timebase_time(&timebase, SH_TIMEBASE_FORWARD, 3500.0, &u_s); /* a quarter on */
    assert_near(u_s, hypot(1.25 * 0.0001, 0.25 * 0.0002), 1e-12, 0);
    (void)sh_timebase_time(&timebase, SH_TIMEBASE_FORWARD, 900.0, &u_s); /* nominal slope */
    assert_near(u_s, 0.001, 0, 0);
    sh_timebase_close(&timebase);
}

/* By hand: anchors of 1, 0.2 and 0.1 ms at frames 0, 1000 and 3000. */
static void test_what_two_times_share_cancels(void **state)
{
    struct sh_timebase timebase;
    fill(&timebase);
    const enum sh_timebase_reading forward = SH_TIMEBASE_FORWARD;
    const enum sh_timebase_reading between = SH_TIMEBASE_BETWEEN;
    /* from one anchor at the nominal rate */
    assert_near(sh_timebase_get_difference_u_s(&timebase, forward, 100.0, 900.0), 0.0, 0, 0);
    /* at one slope: what is left is the slope's, over a quarter of the way */
    assert_near(sh_timebase_get_difference_u_s(&timebase, between, 1500.0, 2000.0),
                0.25 * hypot(0.0002, 0.0001), 1e-12, 0);
    assert_near(sh_timebase_get_difference_u_s(&timebase, forward, 3500.0, 3000.0),
                0.25 * hypot(0.0002, 0.0001), 1e-12, 0);
    /* two anchors of 50 ms a second apart say less of a rate than that it is a clock's */
    struct sh_timebase vague;
    assert_int_equal(sh_timebase_init(&vague, 1000.0, 0.0, 0.0), SH_OK);
    assert_int_equal(sh_timebase_append(&vague, &(struct sh_anchor){0, 0.0, 0.05}), SH_OK);
    assert_int_equal(sh_timebase_append(&vague, &(struct sh_anchor){1000, 1.002, 0.05}), SH_OK);
    assert_near(sh_timebase_get_difference_u_s(&vague, forward, 5000.0, 2000.0),
                3.0 * hypot(0.002, 0.001), 1e-9, 0);
    sh_timebase_close(&vague);
    /* across an anchor: 0.5 a0 + 0.5 a1 at frame 500, 0.75 a1 + 0.25 a2 at 1500 */
    assert_near(sh_timebase_get_difference_u_s(&timebase, between, 500.0, 1500.0),
                sqrt(pow(0.5 * 0.001, 2) + pow(0.25 * 0.0002, 2) + pow(0.25 * 0.0001, 2)),
                1e-12, 0);
    /* forward: 1.5 a1 - 0.5 a0 at frame 1500 against a0 at 500 */
    assert_near(sh_timebase_get_difference_u_s(&timebase, forward, 1500.0, 500.0),
                hypot(1.5 * 0.001, 1.5 * 0.0002), 1e-12, 0);
    sh_timebase_close(&timebase);
    assert_int_equal(sh_timebase_init(&timebase, 1000.0, 0.0, 0.01), SH_OK);
    assert_near(sh_timebase_get_difference_u_s(&timebase, forward, 1.0, 5000.0), 0.0, 0, 0);
}

/* Whole stretches, over anchors and before the first: the bits of each frame by itself. */
static void test_fill(void **state)
{
    static const uint64_t firsts[] = {0, 400, 999, 1000, 2990, 5000};
    double got_s[1500];
    struct sh_timebase timebase[2];
    fill(&timebase[0]);
    assert_int_equal(sh_timebase_init(&timebase[1], 300.0, 0.25, 0.01), SH_OK);
    for (size_t k = 0; k < 24; k++) {
        const struct sh_timebase *clock = &timebase[k / 12];
        const enum sh_timebase_reading reading =
            k / 6 % 2 == 0 ? SH_TIMEBASE_FORWARD : SH_TIMEBASE_BETWEEN;
        const uint64_t first = firsts[k % 6];
        double u_s = 0.0;
        double expected_u_s = 0.0;
        sh_timebase_fill(clock, reading, first, 1500, got_s, &u_s);
        for (size_t i = 0; i < 1500; i++) {
            const double expected_s =
                sh_timebase_time(clock, reading, (double)(first + i), &expected_u_s);
            assert_memory_equal(&got_s[i], &expected_s, sizeof expected_s);
        }
        assert_memory_equal(&u_s, &expected_u_s, sizeof u_s);
        u_s = -1.0;
        sh_timebase_fill(clock, reading, first, 0, got_s, &u_s);
        assert_near(u_s, -1.0, 0.0, 0.0);
    }
    sh_timebase_close(&timebase[0]);
}

static void test_find_anchor(void **state)
{
    struct sh_timebase timebase;
    fill(&timebase);
    const double last_s = sh_timebase_time(&timebase, SH_TIMEBASE_FORWARD, 999.0, NULL);
    assert_int_equal(sh_timebase_find_anchor(&timebase, SH_TIMEBASE_FORWARD, -1.0), 1);
    assert_int_equal(sh_timebase_find_anchor(&timebase, SH_TIMEBASE_FORWARD, last_s), 1);
    assert_int_equal(sh_timebase_find_anchor(&timebase, SH_TIMEBASE_FORWARD, last_s + 1e-9), 2);
    assert_int_equal(sh_timebase_find_anchor(&timebase, SH_TIMEBASE_BETWEEN, 1.0005), 2);
    assert_int_equal(sh_timebase_find_anchor(&timebase, SH_TIMEBASE_FORWARD, 9.0), 3);
    sh_timebase_close(&timebase);
    assert_int_equal(sh_timebase_find_anchor(&timebase, SH_TIMEBASE_FORWARD, 9.0), 0);
}

static void test_frames_lead_back(void **state)
{
    struct sh_timebase timebase;
    fill(&timebase);
    for (double frame = 0.0; frame < 5000.0; frame += 37.25) {
        double time_s = sh_timebase_time(&timebase, SH_TIMEBASE_BETWEEN, frame, NULL);
        assert_near(sh_timebase_frame(&timebase, SH_TIMEBASE_BETWEEN, time_s), frame, 1e-8, 0);
    }
    sh_timebase_close(&timebase);
}

static void test_refuses(void **state)
{
    struct sh_timebase timebase;
    fill(&timebase);
    static const struct sh_anchor bad[] = {
        {3000, 4.0, 0.0}, {4000, 3.005, 0.0}, {4000, (double)INFINITY, 0.0}, {4000, 4.0, -0.1}};
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        assert_int_equal(sh_timebase_append(&timebase, &bad[i]), SH_ERR_ARGUMENT);
    }
    assert_int_equal(timebase.n_anchors, 3);
    sh_timebase_close(&timebase);
    sh_timebase_close(&timebase);
}

/* An anchor leaves all frames before it as they were: what the live pass said stays true. */
static void test_an_anchor_does_not_reach_back(void **state)
{
    struct sh_timebase timebase;
    fill(&timebase);
    double before_s = sh_timebase_time(&timebase, SH_TIMEBASE_FORWARD, 3999.0, NULL);
    assert_int_equal(sh_timebase_append(&timebase, &(struct sh_anchor){4000, 4.1, 0.0}), SH_OK);
    assert_near(sh_timebase_time(&timebase, SH_TIMEBASE_FORWARD, 3999.0, NULL), before_s, 0, 0);
    sh_timebase_close(&timebase);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_nominal),
        cmocka_unit_test(test_readings),
        cmocka_unit_test(test_what_two_times_share_cancels),
        cmocka_unit_test(test_fill),
        cmocka_unit_test(test_find_anchor),
        cmocka_unit_test(test_frames_lead_back),
        cmocka_unit_test(test_refuses),
        cmocka_unit_test(test_an_anchor_does_not_reach_back),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
