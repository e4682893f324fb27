/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "measure/span.h"

#include "support/cmocka_all.h"

/* Ten samples, 10 Hz, from 5.0 s on; frame 7 stands for a lost one, 8 is clipped. */
static const double time_s[10] = {5.0, 5.1, 5.2, 5.3, 5.4, 5.5, 5.6, 5.7, 5.8, 5.9};
static const unsigned char flags[10] = {
    0, 0, 0, 0, 0, 0, 0, SH_SHOT_FLAG_FILLED, SH_SHOT_FLAG_CLIPPED, 0};
static const struct sh_stream described = {.rate_hz = 10.0, .n_channels = 1};
static const struct sh_shot_stream stream = {
    .stream = &described, .n_frames = 10, .time_s = time_s, .flags = flags};

static void check(double from_s, double until_s, size_t first, size_t n)
{
    const struct sh_span span = sh_span_find(&stream, 0.0, from_s, until_s);
    assert_int_equal(span.why, SH_WHY_KNOWN);
    assert_int_equal(span.first, first);
    assert_int_equal(span.n, n);
}

static enum sh_why get_why(double from_s, double until_s)
{
    return sh_span_find(&stream, 0.0, from_s, until_s).why;
}

static void test_first_time_is_inside_and_last_is_not(void **state)
{
    check(5.1, 5.4, 1, 3);
    check(5.11, 5.4, 2, 2);
    check(5.1, 5.41, 1, 4);
    check(5.0, 5.7, 0, 7);
}

static void test_times_on_a_sample_survive_rounding(void **state)
{
    check(5.3 - 1e-9, 5.6 + 1e-9, 3, 3);
    check(5.3 + 1e-9, 5.6 - 1e-9, 3, 3);
}

static void test_the_delay_is_taken_off(void **state)
{
    const struct sh_span span = sh_span_find(&stream, 0.1, 5.1, 5.4);
    assert_int_equal(span.first, 2);
    assert_int_equal(span.n, 3);
}

static void test_reasons(void **state)
{
    static const struct sh_shot_stream empty = {.stream = &described};
    assert_int_equal(get_why(5.2, 5.2), SH_WHY_TOO_SHORT);
    assert_int_equal(get_why(5.3, 5.2), SH_WHY_TOO_SHORT);
    assert_int_equal(get_why(4.85, 5.2), SH_WHY_TOO_SHORT);
    assert_int_equal(get_why(5.2, 6.05), SH_WHY_TOO_SHORT);
    assert_int_equal(get_why(5.21, 5.29), SH_WHY_TOO_SLOW);
    assert_int_equal(get_why(5.65, 5.75), SH_WHY_GAP);
    assert_int_equal(get_why(5.65, 5.95), SH_WHY_GAP);
    assert_int_equal(get_why(5.75, 5.95), SH_WHY_CLIPPED);
    assert_int_equal(get_why(5.85, 5.99), SH_WHY_KNOWN);
    assert_int_equal(sh_span_find(&empty, 0.0, 5.0, 5.5).why, SH_WHY_TOO_SHORT);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_first_time_is_inside_and_last_is_not),
        cmocka_unit_test(test_times_on_a_sample_survive_rounding),
        cmocka_unit_test(test_the_delay_is_taken_off),
        cmocka_unit_test(test_reasons),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
