/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "finding/limit_pull.h"

#include "support/cmocka_all.h"
#include "support/near.h"

#define RATE_HZ 1000.0

/* Pushes n samples of a force; the last event that was one, and after how many samples. */
static enum sh_limit_pull_event
hold(struct sh_limit_pull *pull, double force_n, size_t n, size_t *after)
{
    enum sh_limit_pull_event last = SH_LIMIT_PULL_NONE;
    for (size_t i = 0; i < n; i++) {
        enum sh_limit_pull_event event = sh_limit_pull_push(pull, force_n);
        if (event != SH_LIMIT_PULL_NONE) {
            last = event;
            *after = i + 1;
        }
    }
    return last;
}

static void test_a_draw(void **state)
{
    struct sh_limit_pull pull = sh_limit_pull_make(RATE_HZ, 50.0);
    size_t after = 0;
    assert_int_equal(hold(&pull, 0.0, 500, &after), SH_LIMIT_PULL_NONE);
    assert_int_equal(hold(&pull, 5.1, 100, &after), SH_LIMIT_PULL_BEGAN);
    assert_int_equal(after, 1);
    assert_false(sh_limit_pull_is_loaded(&pull));
    assert_int_equal(hold(&pull, 39.9, 1000, &after), SH_LIMIT_PULL_NONE); /* under 0.8 x 50 */
    assert_int_equal(hold(&pull, 40.0, 1, &after), SH_LIMIT_PULL_NONE);
    assert_true(sh_limit_pull_is_loaded(&pull));
    assert_int_equal(hold(&pull, 160.0, 1000, &after), SH_LIMIT_PULL_DRAWN);
    assert_int_equal(after, 239);
    assert_near(pull.largest_n, 160.0, 0, 0);
    assert_int_equal(hold(&pull, 40.1, 500, &after), SH_LIMIT_PULL_NONE); /* a quarter: held */
    assert_int_equal(hold(&pull, 39.0, 100, &after), SH_LIMIT_PULL_ENDED);
    assert_int_equal(after, 100);
    assert_near(pull.ended_largest_n, 160.0, 0, 0);
    assert_int_equal(hold(&pull, 0.0, 150, &after), SH_LIMIT_PULL_LET_GO);
    assert_int_equal(after, 100);
    assert_false(pull.is_pulled);
    assert_int_equal(pull.n_quiet, 150);
}

static void test_a_tug_is_no_draw(void **state)
{
    struct sh_limit_pull pull = sh_limit_pull_make(RATE_HZ, 50.0);
    size_t after = 0;
    assert_int_equal(hold(&pull, 60.0, 239, &after), SH_LIMIT_PULL_BEGAN);
    assert_int_equal(hold(&pull, 0.0, 100, &after), SH_LIMIT_PULL_LET_GO);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_a_draw),
        cmocka_unit_test(test_a_tug_is_no_draw),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
