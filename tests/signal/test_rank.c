/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/rank.h"

#include <math.h>
#include <stdbool.h>

#include "signal/random.h"
#include "support/cmocka_all.h"
#include "support/near.h"

#define N_MAX 64u

struct room {
    size_t order[N_MAX];
    double rank_x[N_MAX];
    double rank_y[N_MAX];
};

static enum sh_status get(const double *x,
                          const double *y,
                          size_t n,
                          bool is_kendall,
                          struct sh_rank_correlation *correlation)
{
    static struct room room;
    const struct sh_rank_pairs pairs = {x, y, n};
    const struct sh_rank_work work = {room.order, room.rank_x, room.rank_y};
    return is_kendall ? sh_rank_get_kendall(&pairs, 0.95, &work, correlation)
                      : sh_rank_get_spearman(&pairs, 0.95, &work, correlation);
}

static void test_ranks(void **state)
{
    const double x[7] = {3.0, -1.0, 3.0, 8.0, 3.0, -1.0, 5.0};
    const double expected[7] = {4.0, 1.5, 4.0, 7.0, 4.0, 1.5, 6.0};
    size_t order[7];
    double rank[7];
    assert_int_equal(sh_rank_make(x, 7, order, rank), SH_OK);
    for (size_t i = 0; i < 7; i++) {
        assert_near(rank[i], expected[i], 0.0, 0.0);
        assert_true(i == 0 || x[order[i - 1]] <= x[order[i]]);
    }
    assert_int_equal(sh_rank_make(x, 1, order, rank), SH_OK);
    assert_near(rank[0], 1.0, 0.0, 0.0);
}

/* 1 - 6 sum d^2 / (n (n^2 - 1)): ranks 1 2 3 4 5 against 2 1 4 3 5 give 1 - 24 / 120. */
static void test_by_hand(void **state)
{
    const double x[5] = {0.1, 0.2, 0.4, 0.8, 1.6};
    const double y[5] = {20.0, 10.0, 40.0, 30.0, 50.0};
    struct sh_rank_correlation got;
    assert_int_equal(get(x, y, 5, false, &got), SH_OK);
    assert_near(got.value, 0.8, 1e-15, 0.0);
    const double half = 1.959963984540054 * sqrt((1.0 + 0.32) / 2.0);
    assert_near(got.lo, tanh(atanh(0.8) - half), 1e-12, 0.0);
    assert_near(got.hi, tanh(atanh(0.8) + half), 1e-12, 0.0);
    assert_int_equal(get(x, y, 5, true, &got), SH_OK);
    assert_near(got.value, 0.6, 1e-15, 0.0); /* 8 pairs of 10 agree, 2 do not */
    /* variance 5 4 15 / 18 = 50 / 3 */
    assert_near(got.p, erfc(6.0 / sqrt(50.0 / 3.0) / sqrt(2.0)), 1e-14, 0.0);
}

static void test_perfect(void **state)
{
    const double x[6] = {1.0, 2.0, 3.0, 4.0, 5.0, 6.0};
    const double y[6] = {1.0, 8.0, 27.0, 64.0, 125.0, 216.0};
    const double down[6] = {6.0, 5.0, 4.0, 3.0, 2.0, 1.0};
    struct sh_rank_correlation got;
    for (int kendall = 0; kendall < 2; kendall++) {
        assert_int_equal(get(x, y, 6, kendall == 1, &got), SH_OK);
        assert_near(got.value, 1.0, 1e-15, 0.0);
        assert_near(got.lo, 1.0, 1e-7, 0.0);
        assert_near(got.hi, 1.0, 1e-7, 0.0);
        assert_int_equal(get(x, down, 6, kendall == 1, &got), SH_OK);
        assert_near(got.value, -1.0, 1e-15, 0.0);
    }
    assert_int_equal(get(x, y, 6, false, &got), SH_OK);
    assert_true(got.p < 1e-12);
}

/* Normal pairs of correlation 0.5, 40 each: Spearman's true value is 6 / pi asin(1 / 4). */
static void test_coverage(void **state)
{
    enum { RUNS = 2000, PAIRS = 40 };
    const double truth[2] = {6.0 / 3.14159265358979324 * asin(0.25), 1.0 / 3.0};
    double x[PAIRS];
    double y[PAIRS];
    struct sh_random random;
    size_t n_held[2] = {0, 0};
    sh_random_init(&random, 5);
    for (size_t r = 0; r < RUNS; r++) {
        for (size_t i = 0; i < PAIRS; i++) {
            x[i] = sh_random_get_normal(&random);
            y[i] = 0.5 * x[i] + sqrt(0.75) * sh_random_get_normal(&random);
        }
        for (size_t k = 0; k < 2; k++) {
            struct sh_rank_correlation got;
            assert_int_equal(get(x, y, PAIRS, k == 1, &got), SH_OK);
            n_held[k] += got.lo <= truth[k] && truth[k] <= got.hi ? 1 : 0;
        }
    }
    for (size_t k = 0; k < 2; k++) {
        assert_near((double)n_held[k] / RUNS, 0.95, 0.02, 0.0);
    }
}

static void test_refusals(void **state)
{
    const double x[6] = {1.0, 2.0, 3.0, 4.0, 5.0, 6.0};
    const double flat[6] = {2.0, 2.0, 2.0, 2.0, 2.0, 2.0};
    const double broken[6] = {1.0, 2.0, (double)INFINITY, 4.0, 5.0, 6.0};
    size_t order[6];
    double rank[6];
    struct sh_rank_correlation got;
    assert_int_equal(sh_rank_make(x, 0, order, rank), SH_ERR_SHORT);
    assert_int_equal(sh_rank_make(broken, 6, order, rank), SH_ERR_NOT_FINITE);
    for (int kendall = 0; kendall < 2; kendall++) {
        const size_t least = kendall == 1 ? 5 : 4;
        assert_int_equal(get(x, x, least - 1, kendall == 1, &got), SH_ERR_SHORT);
        assert_int_equal(get(x, x, least, kendall == 1, &got), SH_OK);
        assert_int_equal(get(x, flat, 6, kendall == 1, &got), SH_ERR_SINGULAR);
        assert_int_equal(get(flat, x, 6, kendall == 1, &got), SH_ERR_SINGULAR);
        assert_int_equal(get(x, broken, 6, kendall == 1, &got), SH_ERR_NOT_FINITE);
    }
    const struct sh_rank_pairs pairs = {x, x, 6};
    const struct sh_rank_work work = {order, rank, rank};
    assert_int_equal(sh_rank_get_spearman(&pairs, 0.0, &work, &got), SH_ERR_ARGUMENT);
    assert_int_equal(sh_rank_get_kendall(&pairs, 1.0, &work, &got), SH_ERR_ARGUMENT);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_ranks),    cmocka_unit_test(test_by_hand),
        cmocka_unit_test(test_perfect),  cmocka_unit_test(test_coverage),
        cmocka_unit_test(test_refusals),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
