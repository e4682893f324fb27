/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/reliability.h"

#include <float.h>
#include <math.h>

#include "signal/random.h"
#include "support/cmocka_all.h"
#include "support/near.h"

static enum sh_status
get(const double *x, size_t n, size_t k, struct sh_reliability *reliability)
{
    const struct sh_reliability_table table = {x, n, k};
    return sh_reliability_get(&table, 0.95, reliability);
}

/* Rows 1 3, 2 2, 6 4: between 14, within 4, judges 0, rest 4 over 2. */
static void test_by_hand(void **state)
{
    const double x[6] = {1.0, 3.0, 2.0, 2.0, 6.0, 4.0};
    struct sh_reliability got;
    assert_int_equal(get(x, 3, 2, &got), SH_OK);
    const double between = 6.0;
    const double within = 4.0 / 3.0;
    const double rest = 4.0 / 2.0;
    assert_near(got.mean, 3.0, 1e-15, 0.0);
    assert_near(got.icc_1_1.value, (between - within) / (between + within), 1e-14, 0.0);
    assert_near(got.icc_3_1.value, (between - rest) / (between + rest), 1e-14, 0.0);
    assert_near(got.icc_2_1.value,
                (between - rest) / (between + rest + 2.0 * (0.0 - rest) / 3.0), 1e-14, 0.0);
    assert_near(got.icc_1_k.value, (between - within) / between, 1e-14, 0.0);
    assert_near(got.icc_3_k.value, (between - rest) / between, 1e-14, 0.0);
    assert_near(got.sem_within, sqrt(within), 1e-14, 0.0);
    assert_near(got.sem_consistency, sqrt(rest), 1e-14, 0.0);
    assert_near(got.sem_agreement, sqrt(rest), 1e-14,
                0.0); /* judges differ by less than chance */
    assert_near(got.sd_targets, sqrt(16.0 / 5.0), 1e-14, 0.0);
    assert_near(got.change_within, 1.959963984540054 * sqrt(2.0 * within), 1e-12, 0.0);
}

/* A judge who reads 5 more spoils agreement, not consistency. */
static void test_level(void **state)
{
    const double x[8] = {1.0, 6.2, 2.0, 6.9, 3.0, 8.1, 4.0, 8.9};
    struct sh_reliability got;
    assert_int_equal(get(x, 4, 2, &got), SH_OK);
    assert_true(got.icc_3_1.value > 0.98);
    assert_true(got.icc_2_1.value < 0.2);
    assert_true(got.sem_agreement > 3.0);
    assert_true(got.sem_consistency < 0.2);
    /* the level alone: variance 4.9^2 / 2 or so between the two */
    assert_near(got.sem_agreement, sqrt(5.025 * 5.025 / 2.0), 0.05, 0.0);
}

enum { TARGETS = 10, JUDGES = 3 };

/* Components 1 (target), 0.25 (judge) and 0.49 (rest); plain is without the judges' levels. */
static void
draw_table(struct sh_random *random, double x[TARGETS * JUDGES], double plain[TARGETS * JUDGES])
{
    double judge[JUDGES];
    for (size_t j = 0; j < JUDGES; j++) {
        judge[j] = 0.5 * sh_random_get_normal(random);
    }
    for (size_t i = 0; i < TARGETS; i++) {
        const double target = sh_random_get_normal(random);
        for (size_t j = 0; j < JUDGES; j++) {
            plain[i * JUDGES + j] = target + 0.7 * sh_random_get_normal(random);
            x[i * JUDGES + j] = plain[i * JUDGES + j] + judge[j];
        }
    }
}

static size_t is_held(const struct sh_reliability_icc *icc, double truth)
{
    return icc->lo <= truth && truth <= icc->hi ? 1 : 0;
}

/* Share of limits that hold the true correlation. */
static void test_coverage(void **state)
{
    enum { RUNS = 1500 };
    const double agreement = 1.0 / (1.0 + 0.25 + 0.49);
    const double consistency = 1.0 / (1.0 + 0.49);
    double x[TARGETS * JUDGES];
    double plain[TARGETS * JUDGES];
    size_t n_held[3] = {0, 0, 0};
    struct sh_random random;
    struct sh_reliability got;
    sh_random_init(&random, 41);
    for (size_t r = 0; r < RUNS; r++) {
        draw_table(&random, x, plain);
        assert_int_equal(get(x, TARGETS, JUDGES, &got), SH_OK);
        n_held[0] += is_held(&got.icc_2_1, agreement);
        n_held[1] += is_held(&got.icc_3_1, consistency);
        assert_int_equal(get(plain, TARGETS, JUDGES, &got), SH_OK);
        n_held[2] += is_held(&got.icc_1_1, consistency);
    }
    for (size_t i = 0; i < 3; i++) {
        assert_near((double)n_held[i] / RUNS, 0.95, i == 0 ? 0.03 : 0.018, 0.0);
    }
}

/* An offset of 1e9 takes no more digits than it must. */
static void test_offset(void **state)
{
    const double x[6] = {1.0, 3.0, 2.0, 2.0, 6.0, 4.0};
    double raised[6];
    struct sh_reliability got[2];
    for (size_t i = 0; i < 6; i++) {
        raised[i] = 1e9 + x[i];
    }
    assert_int_equal(get(x, 3, 2, &got[0]), SH_OK);
    assert_int_equal(get(raised, 3, 2, &got[1]), SH_OK);
    assert_near(got[1].icc_2_1.value, got[0].icc_2_1.value, 1e-12, 0.0);
    assert_near(got[1].sem_agreement, got[0].sem_agreement, 1e-12, 0.0);
}

static void test_refusals(void **state)
{
    const double x[6] = {1.0, 3.0, 2.0, 2.0, 6.0, 4.0};
    const double same[6] = {2.0, 2.0, 2.0, 2.0, 2.0, 2.0};
    const double alike[6] = {1.0, 1.0, 2.0, 2.0, 3.0, 3.0};
    const double broken[6] = {1.0, 3.0, 2.0, 2.0, (double)NAN, 4.0};
    const double huge[6] = {-DBL_MAX, DBL_MAX, 2.0, 2.0, 1.0, 4.0};
    struct sh_reliability got;
    assert_int_equal(get(x, 1, 2, &got), SH_ERR_SHORT);
    assert_int_equal(get(x, 3, 1, &got), SH_ERR_SHORT);
    assert_int_equal(get(same, 3, 2, &got), SH_ERR_SINGULAR);
    assert_int_equal(get(alike, 3, 2, &got), SH_ERR_SINGULAR);
    assert_int_equal(get(broken, 3, 2, &got), SH_ERR_NOT_FINITE);
    assert_int_equal(get(huge, 3, 2, &got), SH_ERR_NOT_FINITE);
    const struct sh_reliability_table table = {x, 3, 2};
    assert_int_equal(sh_reliability_get(&table, 1.0, &got), SH_ERR_ARGUMENT);
    assert_int_equal(sh_reliability_get(&table, 0.0, &got), SH_ERR_ARGUMENT);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_by_hand),  cmocka_unit_test(test_level),
        cmocka_unit_test(test_coverage), cmocka_unit_test(test_offset),
        cmocka_unit_test(test_refusals),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
