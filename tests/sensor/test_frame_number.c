/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sensor/frame_number.h"

#include <math.h>

#include "signal/random.h"
#include "support/cmocka_all.h"
#include "support/near.h"

static struct sh_frame_number make(double rate_hz)
{
    struct sh_frame_number number;
    assert_int_equal(sh_frame_number_init(&number, rate_hz), SH_OK);
    return number;
}

static void expect(struct sh_frame_number *number, int64_t device_us, uint64_t frame)
{
    uint64_t got = 999999;
    assert_int_equal(sh_frame_number_push(number, device_us, &got), SH_FRAME_NUMBER_NEW);
    assert_int_equal(got, frame);
}

static void test_rate_limits(void **state)
{
    struct sh_frame_number number;
    assert_int_equal(sh_frame_number_init(&number, 0.99), SH_ERR_ARGUMENT);
    assert_int_equal(sh_frame_number_init(&number, 1.0), SH_OK);
    assert_int_equal(sh_frame_number_init(&number, 100000.0), SH_OK);
    assert_int_equal(sh_frame_number_init(&number, 100001.0), SH_ERR_ARGUMENT);
    assert_int_equal(sh_frame_number_init(&number, (double)NAN), SH_ERR_ARGUMENT);
}

static void test_verdicts(void **state)
{
    struct sh_frame_number number = make(1000.0);
    uint64_t frame = 77;
    assert_false(sh_frame_number_has_frame(&number));
    expect(&number, 5000, 0);
    assert_true(sh_frame_number_has_frame(&number));
    expect(&number, 6000, 1);
    expect(&number, 9000, 4);
    expect(&number, 10000, 5);
    assert_int_equal(sh_frame_number_push(&number, 9000, &frame), SH_FRAME_NUMBER_REPEATED);
    assert_int_equal(sh_frame_number_push(&number, 10000, &frame), SH_FRAME_NUMBER_REPEATED);
    assert_int_equal(sh_frame_number_push(&number, 8000, &frame), SH_FRAME_NUMBER_LATE);
    assert_int_equal(frame, 77);
    expect(&number, 11000, 6);
}

static void test_rounding_of_a_hole(void **state)
{
    struct sh_frame_number number = make(1000.0);
    expect(&number, 0, 0);
    expect(&number, 1499, 1);
    number = make(1000.0);
    expect(&number, 0, 0);
    expect(&number, 1501, 2);
    expect(&number, 1502, 3); /* something new is a frame, however soon */
}

static void test_times_and_frames(void **state)
{
    struct sh_frame_number number = make(1000.0);
    sh_frame_number_set_first(&number, 2000000);
    assert_near(sh_frame_number_get_time(&number, 500), 2500000.0, 1e-6, 0.0);
    assert_near(sh_frame_number_get_frame(&number, 2000500.0), 0.5, 1e-9, 0.0);
    assert_near(sh_frame_number_get_frame(&number, 1999000.0), -1.0, 1e-9, 0.0);
    expect(&number, 2000900, 1);
    /* the mean of 2001000, from frame 0, and 2000900 */
    assert_near(sh_frame_number_get_time(&number, 1), 2000950.0, 1e-6, 0.0);
    assert_near(sh_frame_number_get_frame(&number, 2010950.0), 11.0, 1e-9, 0.0);
}

/* A converter that runs 8 % off its nominal rate, either way, loses nothing; nor do holes err.
 */
static void check_rate(double nominal_hz, double true_hz, double jitter_us)
{
    struct sh_frame_number number = make(nominal_hz);
    struct sh_random random;
    sh_random_init(&random, 11);
    for (uint64_t i = 0; i < (uint64_t)(30.0 * true_hz); i++) {
        bool is_left_out = i > (uint64_t)(10.0 * true_hz) && i % 1000 < 300;
        double jitter = jitter_us * (sh_random_get_uniform(&random) - 0.5);
        if (!is_left_out) {
            expect(&number, (int64_t)(1e6 + (double)i * 1e6 / true_hz + jitter), i);
        }
    }
    assert_near(sh_frame_number_get_rate_hz(&number), true_hz, 0.0, 1e-4);
}

static void test_rates(void **state)
{
    check_rate(1000.0, 1000.0, 0.0);
    check_rate(1000.0, 1000.1, 400.0);
    check_rate(80.0, 86.4, 500.0);
    check_rate(80.0, 73.6, 500.0);
    check_rate(3200.0, 3210.0, 100.0);
}

/* A rate beyond belief does not become the period. */
static void test_a_wrong_rate(void **state)
{
    struct sh_frame_number number = make(1000.0);
    uint64_t frame = 0;
    for (int64_t i = 0; i < 5000; i++) {
        (void)sh_frame_number_push(&number, i * 500, &frame);
    }
    assert_int_equal(frame, 4999);
    assert_near(sh_frame_number_get_rate_hz(&number), 1000.0, 1e-9, 0.0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_rate_limits),
        cmocka_unit_test(test_verdicts),
        cmocka_unit_test(test_rounding_of_a_hole),
        cmocka_unit_test(test_times_and_frames),
        cmocka_unit_test(test_rates),
        cmocka_unit_test(test_a_wrong_rate),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
