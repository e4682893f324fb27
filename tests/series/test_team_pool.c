/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "series/team_pool.h"

#include <math.h>

#include "series/team_made.h"
#include "support/cmocka_all.h"
#include "support/near.h"

#define PICKS 60000u

static struct sh_team_times times;
static struct sh_team_pool pool;

static int open_times(void **state)
{
    (void)state;
    team_made_open(&times);
    return 0;
}

static int close_times(void **state)
{
    (void)state;
    sh_team_pool_close(&pool);
    sh_team_times_close(&times);
    return 0;
}

/* The means of what is picked, over a fine comb of u. */
static double comb_first_s(enum sh_team_first kind)
{
    double sum_s = 0.0;
    for (size_t i = 0; i < PICKS; i++) {
        size_t end = 0;
        sum_s += sh_team_pool_pick_first_s(&pool, kind, ((double)i + 0.5) / PICKS, &end);
    }
    return sum_s / PICKS;
}

static double comb_next_s(enum sh_team_first kind)
{
    double sum_s = 0.0;
    for (size_t i = 0; i < PICKS; i++) {
        const double u = ((double)i + 0.5) / PICKS;
        size_t end = 0;
        (void)sh_team_pool_pick_first_s(&pool, kind, u, &end);
        sum_s += sh_team_pool_pick_next_s(&pool, end, fmod(u * 1e4, 1.0));
    }
    return sum_s / PICKS;
}

static void check_means(enum sh_team_first kind, double first_s, double next_s)
{
    assert_near(sh_team_pool_get_first_mean_s(&pool, kind), first_s, 1e-12, 0);
    assert_near(sh_team_pool_get_next_mean_s(&pool, kind), next_s, 1e-12, 0);
    assert_near(comb_first_s(kind), first_s, 0.01, 0);
    assert_near(comb_next_s(kind), next_s, 0.02, 0);
}

/* Further arrows come from the end of the first one: 11 or 12 with 10, 21 with 20. */
static void test_arrows_of_one_end(void **state)
{
    static const double slow_s[1] = {21.0};
    static const double fast_s[2] = {11.0, 12.0};
    for (size_t i = 0; i < 3; i++) {
        team_made_add(&times, SH_TEAM_FIRST_START, 10.0, fast_s, 2);
        team_made_add(&times, SH_TEAM_FIRST_START, 20.0, slow_s, 1);
    }
    assert_int_equal(sh_team_pool_open(&times, &pool), SH_OK);
    for (size_t i = 0; i < 100; i++) {
        size_t end = 0;
        const double u = ((double)i + 0.5) / 100.0;
        const double first_s = sh_team_pool_pick_first_s(&pool, SH_TEAM_FIRST_START, u, &end);
        const double next_s = sh_team_pool_pick_next_s(&pool, end, u);
        assert_true(first_s < 15.0 ? next_s < 13.0 : next_s > 20.0);
    }
    check_means(SH_TEAM_FIRST_START, 15.0, 0.5 * (11.5 + 21.0));
    check_means(SH_TEAM_FIRST_HAND_OVER, 15.0, 0.5 * (11.5 + 21.0)); /* none: the others */
}

/* Kinds are told apart from five of each on. */
static void test_kinds(void **state)
{
    static const double next_s[1] = {9.0};
    for (size_t i = 0; i < 5; i++) {
        if (i == 4) {
            assert_int_equal(sh_team_pool_open(&times, &pool), SH_OK);
            check_means(SH_TEAM_FIRST_START, 12.0, 9.0);
            sh_team_pool_close(&pool);
        }
        team_made_add(&times, SH_TEAM_FIRST_START, 10.0, next_s, 1);
        team_made_add(&times, SH_TEAM_FIRST_HAND_OVER, 14.0, next_s, 1);
    }
    assert_int_equal(sh_team_pool_open(&times, &pool), SH_OK);
    check_means(SH_TEAM_FIRST_START, 10.0, 9.0);
    check_means(SH_TEAM_FIRST_HAND_OVER, 14.0, 9.0);
}

/* Only further arrows, or only first ones, are known. */
static void test_stand_ins(void **state)
{
    static const double next_s[2] = {9.0, 11.0};
    for (size_t i = 0; i < 5; i++) {
        team_made_add(&times, SH_TEAM_FIRST_START, (double)NAN, next_s, 2);
    }
    assert_int_equal(sh_team_pool_open(&times, &pool), SH_OK);
    check_means(SH_TEAM_FIRST_START, 10.0, 10.0);
    sh_team_pool_close(&pool);
    sh_team_times_close(&times);
    for (size_t i = 0; i < 10; i++) {
        team_made_add(&times, SH_TEAM_FIRST_HAND_OVER, 8.0 + (double)(i % 2), NULL, 0);
    }
    assert_int_equal(sh_team_pool_open(&times, &pool), SH_OK);
    check_means(SH_TEAM_FIRST_START, 8.5, 8.5);
}

/*
 * Five let-downs beside fifteen arrows: a quarter of the draws. Before an arrow come 1/3 of one
 * on average, of 12 s each; without a known cost each costs a further arrow's time.
 */
static void test_let_downs(void **state)
{
    static const double next_s[2] = {9.0, 11.0};
    struct sh_random random;
    double sum_s = 0.0;
    for (size_t i = 0; i < 5; i++) {
        team_made_add(&times, SH_TEAM_FIRST_START, 10.0, next_s, 2);
        team_made_let_down(&times, 10.0 + (double)i);
    }
    assert_int_equal(sh_team_pool_open(&times, &pool), SH_OK);
    assert_near(pool.let_down_ratio, 0.25, 1e-12, 0);
    assert_near(sh_team_pool_get_let_downs_mean_s(&pool), 4.0, 1e-12, 0);
    sh_random_init(&random, 3);
    for (size_t i = 0; i < PICKS; i++) {
        sum_s += sh_team_pool_draw_let_downs_s(&pool, &random);
    }
    /* variance of the sum of a geometric number: 1/3 x 2 + 4/9 x 144 */
    assert_near(sum_s / PICKS, 4.0, 4.0 * sqrt(65.0 / PICKS), 0);
    sh_team_pool_close(&pool);
    for (size_t i = 0; i < 5; i++) {
        times.ends[i].n_costs = 0;
    }
    assert_int_equal(sh_team_pool_open(&times, &pool), SH_OK);
    assert_near(sh_team_pool_get_let_downs_mean_s(&pool), 10.0 / 3.0, 1e-12, 0);
    sum_s = 0.0;
    for (size_t i = 0; i < PICKS; i++) {
        sum_s += sh_team_pool_draw_let_downs_s(&pool, &random);
    }
    assert_near(sum_s / PICKS, 10.0 / 3.0, 0.15, 0);
}

/* Means of redraws scatter as the mean of so many ends does, by their SD with divisor n - 1. */
static void test_redraw(void **state)
{
    static const double next_s[1] = {9.0};
    struct sh_random random;
    double mean = 0.0;
    double squares = 0.0;
    for (size_t i = 0; i < 6; i++) {
        team_made_add(&times, SH_TEAM_FIRST_START, 10.0 + (double)i, next_s, 1);
    }
    assert_int_equal(sh_team_pool_open(&times, &pool), SH_OK);
    sh_random_init(&random, 5);
    const size_t n = 20000;
    for (size_t i = 0; i < n; i++) {
        sh_team_pool_redraw(&pool, &random);
        assert_int_equal(pool.drawn.n, 5);
        const double got = sh_team_pool_get_first_mean_s(&pool, SH_TEAM_FIRST_START);
        mean += got / (double)n;
        squares += got * got / (double)n;
    }
    assert_near(mean, 12.5, 0.03, 0);
    assert_near(squares - mean * mean, 3.5 / 6.0, 0, 0.04); /* SD^2 of 0..5 is 3.5 */
}

static void test_too_few(void **state)
{
    static const double next_s[4] = {9.0, 9.0, 9.0, 9.0};
    assert_int_equal(sh_team_pool_open(&times, &pool), SH_ERR_SHORT);
    for (size_t i = 0; i < 4; i++) { /* twenty arrows, but of four ends */
        team_made_add(&times, SH_TEAM_FIRST_START, 10.0, next_s, 4);
    }
    assert_int_equal(sh_team_pool_open(&times, &pool), SH_ERR_SHORT);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_arrows_of_one_end, open_times, close_times),
        cmocka_unit_test_setup_teardown(test_kinds, open_times, close_times),
        cmocka_unit_test_setup_teardown(test_stand_ins, open_times, close_times),
        cmocka_unit_test_setup_teardown(test_let_downs, open_times, close_times),
        cmocka_unit_test_setup_teardown(test_redraw, open_times, close_times),
        cmocka_unit_test_setup_teardown(test_too_few, open_times, close_times),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
