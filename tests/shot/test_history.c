/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shot/history.h"

#include <math.h>

#include "support/cmocka_all.h"
#include "support/near.h"

#define RATE_HZ 10.0 /* 600 frames are kept */

static void push_frame(struct sh_history *history, uint64_t frame)
{
    const double value[2] = {(double)frame, -2.0 * (double)frame};
    sh_history_push(history, value, (unsigned char)(frame % 4));
}

static struct sh_history *open_two_channels(void)
{
    struct sh_history *history = NULL;
    assert_int_equal(sh_history_open(2, RATE_HZ, &history, NULL), SH_OK);
    return history;
}

/* Every frame that is held comes back under its own number, whole and in order. */
static void check_all(const struct sh_history *history, uint64_t first, uint64_t next)
{
    assert_int_equal(sh_history_get_first(history), first);
    assert_int_equal(sh_history_get_next(history), next);
    struct sh_history_span span;
    sh_history_get_span(history, 0, UINT64_MAX, &span);
    assert_int_equal(span.first_frame, first);
    assert_int_equal(span.n_frames, next - first);
    for (size_t i = 0; i < span.n_frames; i++) {
        const double frame = (double)(first + i);
        assert_true(span.value[0][i] >= frame && span.value[0][i] <= frame);
        assert_true(span.value[1][i] >= -2.0 * frame && span.value[1][i] <= -2.0 * frame);
        assert_int_equal(span.flags[i], (first + i) % 4);
    }
}

static void test_holds_the_last_minute(void **state)
{
    struct sh_history *history = open_two_channels();
    assert_int_equal(sh_history_get_capacity(history), 600);
    check_all(history, 0, 0);
    for (uint64_t frame = 0; frame < 3000; frame++) {
        push_frame(history, frame);
        const uint64_t next = frame + 1;
        if (next % 97 == 0 || (next >= 599 && next <= 602) || (next >= 899 && next <= 902)) {
            check_all(history, next > 600 ? next - 600 : 0, next);
        }
    }
    check_all(history, 2400, 3000);
    sh_history_close(&history);
    assert_null(history);
}

static void test_span_is_cut_to_what_is_there(void **state)
{
    struct sh_history *history = open_two_channels();
    for (uint64_t frame = 0; frame < 1000; frame++) {
        push_frame(history, frame);
    }
    struct sh_history_span span;
    sh_history_get_span(history, 390, 410, &span);
    assert_int_equal(span.first_frame, 400);
    assert_int_equal(span.n_frames, 10);
    sh_history_get_span(history, 990, 1010, &span);
    assert_int_equal(span.first_frame, 990);
    assert_int_equal(span.n_frames, 10);
    sh_history_get_span(history, 2000, 2010, &span);
    assert_int_equal(span.n_frames, 0);
    assert_null(span.flags);
    sh_history_get_span(history, 0, 400, &span);
    assert_int_equal(span.n_frames, 0);
    sh_history_get_span(history, 700, 600, &span);
    assert_int_equal(span.n_frames, 0);
    sh_history_close(&history);
}

static void test_reset_is_as_new_from_any_frame(void **state)
{
    struct sh_history *history = open_two_channels();
    for (uint64_t frame = 0; frame < 777; frame++) {
        push_frame(history, frame);
    }
    sh_history_reset(history, 5000);
    check_all(history, 5000, 5000);
    for (uint64_t frame = 5000; frame < 5700; frame++) {
        push_frame(history, frame);
    }
    check_all(history, 5100, 5700);
    sh_history_close(&history);
}

/* Of all that is held only the frame meant is set. */
static void test_mend(void **state)
{
    struct sh_history *history = open_two_channels();
    for (uint64_t frame = 0; frame < 777; frame++) {
        push_frame(history, frame);
    }
    struct sh_history_span span;
    sh_history_get_span(history, 700, 777, &span);
    const double neighbour = span.value[1][49];
    const double value[] = {1234.5, -1234.5};
    sh_history_mend(history, 750, value);
    sh_history_get_span(history, 700, 777, &span);
    assert_near(span.value[0][50], 1234.5, 0.0, 0.0);
    assert_near(span.value[1][50], -1234.5, 0.0, 0.0);
    assert_near(span.value[1][49], neighbour, 0.0, 0.0);
    sh_history_close(&history);
}

static void test_open_refuses(void **state)
{
    struct sh_history *history = NULL;
    assert_int_equal(sh_history_open(0, 10.0, &history, NULL), SH_ERR_ARGUMENT);
    assert_int_equal(sh_history_open(17, 10.0, &history, NULL), SH_ERR_ARGUMENT);
    assert_int_equal(sh_history_open(1, 0.0, &history, NULL), SH_ERR_ARGUMENT);
    assert_int_equal(sh_history_open(1, -1.0, &history, NULL), SH_ERR_ARGUMENT);
    assert_int_equal(sh_history_open(1, (double)NAN, &history, NULL), SH_ERR_ARGUMENT);
    assert_int_equal(sh_history_open(1, (double)INFINITY, &history, NULL), SH_ERR_ARGUMENT);
    struct sh_error err = {0};
    assert_int_equal(sh_history_open(16, 1.0e6, &history, &err), SH_ERR_UNSUPPORTED);
    assert_int_equal(err.status, SH_ERR_UNSUPPORTED);
    assert_null(history);
    sh_history_close(NULL);
    sh_history_close(&history);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_holds_the_last_minute),
        cmocka_unit_test(test_span_is_cut_to_what_is_there),
        cmocka_unit_test(test_reset_is_as_new_from_any_frame),
        cmocka_unit_test(test_mend),
        cmocka_unit_test(test_open_refuses),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
