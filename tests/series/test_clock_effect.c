/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "series/clock_effect.h"

#include <math.h>
#include <stdio.h>

#include "series/shot_rows.h"
#include "support/cmocka_all.h"
#include "support/near.h"

#define HOLD     SH_CONSISTENCY_HOLD
#define SESSIONS 1000u

static const struct sh_clock_effect_arrows all = {0, 0};

/* Eight ends of two arrows; the second arrow is 1 s longer, the clock takes 0.5 s. */
static void add_ends(struct sh_consistency_set *set, const double of_end[8])
{
    for (size_t end = 0; end < 8; end++) {
        const bool is_clocked = end % 2 == 1;
        const double value = of_end[end] - (is_clocked ? 0.5 : 0.0);
        shot_rows_add(set, 0, end, 1, 3.0 + value)->is_clocked = is_clocked;
        shot_rows_add(set, 0, end, 2, 4.0 + value)->is_clocked = is_clocked;
    }
}

/*
 * Worked by hand: what is added to the ends, +-0.1 as below, is at right angles to a constant,
 * to the order and to the clock. So the difference is -0.5, the residual squares 8 x 0.01, with
 * 8 - 1 - 2 = 5 degrees of freedom, s^2 = 0.016. Clock about its mean: squares 2; its part
 * across the order (squares 42, products 2): 2 - 4 / 42. u = sqrt(0.016 / (40 / 21)).
 */
static void test_by_hand(void **state)
{
    static const double of_end[8] = {0.1, 0.1, -0.1, -0.1, -0.1, -0.1, 0.1, 0.1};
    struct sh_consistency_set set = {0};
    struct sh_clock_effect effect;
    add_ends(&set, of_end);
    assert_int_equal(sh_clock_effect_get(&set, HOLD, &all, &effect), SH_OK);
    assert_int_equal(effect.why, SH_CLOCK_EFFECT_KNOWN);
    assert_int_equal(effect.n_free, 4);
    assert_int_equal(effect.n_clocked, 4);
    assert_int_equal(effect.first_number, 1);
    assert_int_equal(effect.last_number, 2);
    assert_int_equal(effect.freedom, 5);
    assert_near(effect.difference, -0.5, 1e-12, 0);
    assert_near(effect.u, sqrt(0.016 * 21.0 / 40.0), 0, 1e-12);
    assert_near(effect.inflation, 2.0 * 21.0 / 40.0, 0, 1e-12);
    assert_near(effect.hi - effect.difference, 2.570581835636314 * effect.u, 0, 1e-9);
    assert_near(effect.visible, (4.032142983555227 + 0.919543780241) * effect.u, 0, 1e-9);
    assert_near(effect.mean, 3.25, 1e-12, 0);
    assert_near(effect.n_needed, ceil(8.0 * pow(effect.visible / 0.325, 2.0)), 1e-9, 0);
    assert_true(sh_clock_effect_is_seen(&effect));
    sh_consistency_set_close(&set);
}

/* Only the arrows that were asked for, and that both kinds of ends hold. */
static void test_same_numbers(void **state)
{
    static const double of_end[8] = {0.1, 0.1, -0.1, -0.1, -0.1, -0.1, 0.1, 0.1};
    const struct sh_clock_effect_arrows second = {2, 3};
    struct sh_consistency_set set = {0};
    struct sh_clock_effect effect;
    add_ends(&set, of_end);
    shot_rows_add(&set, 0, 8, 3, 100.0); /* no clocked end has a third arrow */
    assert_int_equal(sh_clock_effect_get(&set, HOLD, &second, &effect), SH_OK);
    assert_int_equal(effect.first_number, 2);
    assert_int_equal(effect.last_number, 2);
    assert_near(effect.difference, -0.5, 1e-12, 0);
    assert_near(effect.mean, 3.75, 1e-12, 0);
    sh_consistency_set_close(&set);
}

/* A day without a clock and another under it: nothing is said. */
static void test_two_days(void **state)
{
    struct sh_consistency_set set = {0};
    struct sh_clock_effect effect;
    for (size_t end = 0; end < 12; end++) {
        const bool is_second = end >= 6;
        shot_rows_add(&set, is_second ? 1 : 0, end, 1,
                      (is_second ? 2.0 : 3.0) + 0.01 * (double)(end % 3))
            ->is_clocked = is_second;
    }
    assert_int_equal(sh_clock_effect_get(&set, HOLD, &all, &effect), SH_OK);
    assert_int_equal(effect.why, SH_CLOCK_EFFECT_NO_PAIR);
    assert_false(sh_clock_effect_is_seen(&effect));
    sh_consistency_set_close(&set);
}

static void test_too_few(void **state)
{
    struct sh_consistency_set set = {0};
    struct sh_clock_effect effect;
    assert_int_equal(sh_clock_effect_get(&set, HOLD, &all, &effect), SH_OK);
    assert_int_equal(effect.why, SH_CLOCK_EFFECT_NO_PAIR);
    for (size_t end = 0; end < 5; end++) {
        if (end == 4) { /* 4 ends are too few, 5 will do */
            assert_int_equal(sh_clock_effect_get(&set, HOLD, &all, &effect), SH_OK);
            assert_int_equal(effect.why, SH_CLOCK_EFFECT_FEW);
        }
        shot_rows_add(&set, 0, end, 1, 3.0 + (end == 2 ? 0.2 : 0.0))->is_clocked = end % 2 == 1;
    }
    assert_int_equal(sh_clock_effect_get(&set, HOLD, &all, &effect), SH_OK);
    assert_int_equal(effect.why, SH_CLOCK_EFFECT_KNOWN);
    assert_int_equal(effect.freedom, 2);
    sh_consistency_set_close(&set);
}

/* Ends' differences 0.1, 0.3, 0.5: mean 0.3, SD 0.2, u 0.2 / sqrt(3). */
static void test_last_less_first(void **state)
{
    struct sh_consistency_set set = {0};
    struct sh_clock_effect effect;
    for (size_t end = 0; end < 3; end++) {
        shot_rows_add(&set, 0, end, 1, 3.0);
        shot_rows_add(&set, 0, end, 2, 9.0);
        shot_rows_add(&set, 0, end, 3, 3.1 + 0.2 * (double)end);
    }
    shot_rows_add(&set, 0, 3, 1, 50.0); /* an end of one arrow */
    assert_int_equal(sh_clock_effect_get_last_less_first(&set, HOLD, &effect), SH_OK);
    assert_int_equal(effect.why, SH_CLOCK_EFFECT_KNOWN);
    assert_int_equal(effect.n_free, 3);
    assert_near(effect.difference, 0.3, 1e-12, 0);
    assert_near(effect.u, 0.2 / sqrt(3.0), 0, 1e-12);
    assert_near(effect.hi, 0.3 + 4.302652729749 * 0.2 / sqrt(3.0), 0, 1e-9);
    assert_false(sh_clock_effect_is_seen(&effect));
    sh_consistency_set_close(&set);
}

/*
 * By hand: two recordings of three ends of one arrow, 1 2 3 and 11 12 15: about their means
 * -1 0 1 and -5/3 -2/3 7/3 on -1 0 1: slope (2 + 4) / 4 = 1.5, with 6 - 2 - 1 degrees of
 * freedom; what the line leaves stands in left.
 */
static void test_per_arrow(void **state)
{
    static const double x[6] = {1, 2, 3, 11, 12, 15};
    static const double left[6] = {0.5, 0.0, -0.5, -1.0 / 6.0, -2.0 / 3.0, 5.0 / 6.0};
    struct sh_consistency_set set = {0};
    struct sh_clock_effect effect;
    double squares = 0.0;
    for (size_t end = 0; end < 6; end++) {
        shot_rows_add(&set, end / 3, end, 1, x[end]);
        squares += left[end] * left[end];
    }
    assert_int_equal(sh_clock_effect_get_per_arrow(&set, HOLD, &effect), SH_OK);
    assert_int_equal(effect.why, SH_CLOCK_EFFECT_KNOWN);
    assert_int_equal(effect.freedom, 3);
    assert_near(effect.difference, 1.5, 1e-12, 0);
    assert_near(effect.u, sqrt(squares / 3.0 / 4.0), 0, 1e-12);
    sh_consistency_set_close(&set);
    shot_rows_add(&set, 0, 0, 1, 1.0);
    assert_int_equal(sh_clock_effect_get_per_arrow(&set, HOLD, &effect), SH_OK);
    assert_int_equal(effect.why, SH_CLOCK_EFFECT_FEW);
    sh_consistency_set_close(&set);
}

/* A steady archer is said to change over the session in 5 %. */
static void test_false_trends(void **state)
{
    const struct shot_rows_archer archer = {12, 6, 0.1, 0.2, 0.0, 0.0, 0.0, false};
    struct sh_random random;
    size_t n_seen = 0;
    sh_random_init(&random, 13);
    for (unsigned i = 0; i < SESSIONS; i++) {
        struct sh_consistency_set set = {0};
        struct sh_clock_effect effect;
        shot_rows_shoot(&set, &archer, &random);
        assert_int_equal(sh_clock_effect_get_per_arrow(&set, HOLD, &effect), SH_OK);
        n_seen += sh_clock_effect_is_seen(&effect) ? 1 : 0;
        sh_consistency_set_close(&set);
    }
    print_message("steady: a change over %zu of %u sessions\n", n_seen, SESSIONS);
    assert_in_range(n_seen, 29, 71);
}

/* Holm's steps: 0.01, 0.04 of two known give 0.02, 0.04; what is unknown does not count. */
static void test_adjust(void **state)
{
    struct sh_clock_effect effects[3] = {{.why = SH_CLOCK_EFFECT_KNOWN, .p = 0.04},
                                         {.why = SH_CLOCK_EFFECT_FEW, .p = 0.001},
                                         {.why = SH_CLOCK_EFFECT_KNOWN, .p = 0.01}};
    assert_int_equal(sh_clock_effect_adjust(effects, 3), SH_OK);
    assert_near(effects[0].p_of_all, 0.04, 1e-15, 0);
    assert_near(effects[2].p_of_all, 0.02, 1e-15, 0);
    assert_int_equal(sh_clock_effect_adjust(effects, 17), SH_ERR_ARGUMENT);
}

/* How many of SESSIONS sessions a difference is seen in. */
static size_t count_seen(const struct shot_rows_archer *archer, const char *name)
{
    struct sh_random random;
    size_t n_seen = 0;
    sh_random_init(&random, 20260514);
    for (unsigned i = 0; i < SESSIONS; i++) {
        struct sh_consistency_set set = {0};
        struct sh_clock_effect effect;
        shot_rows_shoot(&set, archer, &random);
        assert_int_equal(sh_clock_effect_get(&set, HOLD, &all, &effect), SH_OK);
        n_seen += sh_clock_effect_is_seen(&effect) ? 1 : 0;
        sh_consistency_set_close(&set);
    }
    print_message("%s: a difference in %zu of %u sessions\n", name, n_seen, SESSIONS);
    return n_seen;
}

/* 5 % is 50 of 1000, +- 3 x 6.9. Nothing that is not the clock may be taken for it. */
static void test_false_alarms(void **state)
{
    const struct shot_rows_archer steady = {12, 6, 0.1, 0.2, 0.0, 0.0, 0.0, false};
    const struct shot_rows_archer tired = {12, 6, 0.1, 0.2, 0.06, 0.1, 0.0, false};
    const struct shot_rows_archer blocked = {12, 6, 0.1, 0.2, 0.06, 0.1, 0.0, true};
    const struct shot_rows_archer few = {6, 3, 0.1, 0.2, 0.06, 0.1, 0.0, false};
    assert_in_range(count_seen(&steady, "steady"), 29, 71);
    assert_in_range(count_seen(&tired, "tiring, every other end clocked"), 29, 71);
    assert_in_range(count_seen(&blocked, "tiring, second half clocked"), 29, 71);
    assert_in_range(count_seen(&few, "six ends of three"), 29, 71);
}

/* An effect of 1.2 s is not missed: the smallest visible one is some 0.9 s here. */
static void test_finds_an_effect(void **state)
{
    const struct shot_rows_archer rushed = {12, 6, 0.1, 0.2, 0.06, 0.0, -1.2, false};
    assert_true(count_seen(&rushed, "1.2 s shorter") > 950);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_by_hand),         cmocka_unit_test(test_same_numbers),
        cmocka_unit_test(test_two_days),        cmocka_unit_test(test_too_few),
        cmocka_unit_test(test_last_less_first), cmocka_unit_test(test_adjust),
        cmocka_unit_test(test_per_arrow),       cmocka_unit_test(test_false_trends),
        cmocka_unit_test(test_false_alarms),    cmocka_unit_test(test_finds_an_effect),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
