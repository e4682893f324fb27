/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/ordinal.h"

#include <math.h>
#include <string.h>

#include "signal/random.h"
#include "support/cmocka_all.h"
#include "support/near.h"

#define N 200u

/* Rows of columns drawn from a seed, and levels that go with them. */
struct made {
    double x[N * 2];
    size_t level[N];
    struct sh_ordinal_rows rows;
};

static void make(struct made *made, double slope0, double slope1, uint64_t seed)
{
    struct sh_random random;
    sh_random_init(&random, seed);
    for (size_t i = 0; i < N; i++) {
        made->x[2 * i] = sh_random_get_normal(&random);
        made->x[2 * i + 1] = sh_random_get_normal(&random);
        const double u = 1.0 - sh_random_get_uniform(&random);
        const double latent =
            slope0 * made->x[2 * i] + slope1 * made->x[2 * i + 1] - log(1.0 / u - 1.0);
        made->level[i] =
            (latent > -1.0 ? 1u : 0u) + (latent > 0.0 ? 1u : 0u) + (latent > 1.5 ? 1u : 0u);
    }
    made->rows = (struct sh_ordinal_rows){made->x, made->level, N, 2, 4};
}

/*
 * Two levels and a column of 0 and 1 are a table of four counts, 30 10 / 15 45: the slope is
 * the logarithm of its odds ratio 30 x 45 / (10 x 15), its u^2 the sum of the counts' inverses.
 */
static void test_four_counts(void **state)
{
    static const size_t counts[2][2] = {{30, 10}, {15, 45}};
    double x[100];
    size_t level[100];
    struct sh_ordinal fit;
    size_t n = 0;
    for (size_t cell = 0; cell < 4; cell++) {
        for (size_t i = 0; i < counts[cell / 2][cell % 2]; i++) {
            x[n] = (double)(cell / 2);
            level[n++] = cell % 2;
        }
    }
    const struct sh_ordinal_rows rows = {x, level, n, 1, 2};
    assert_int_equal(sh_ordinal_fit(&rows, &fit), SH_OK);
    assert_near(fit.slope[0], log(9.0), 0, 1e-9);
    assert_near(fit.u[0], sqrt(1.0 / 30.0 + 0.1 + 1.0 / 15.0 + 1.0 / 45.0), 0, 1e-9);
    assert_near(fit.cut[0], log(3.0), 0, 1e-9);
    assert_near(fit.log_likelihood,
                30.0 * log(0.75) + 10.0 * log(0.25) + 15.0 * log(0.25) + 45.0 * log(0.75), 0,
                1e-12);
    assert_near(fit.p[0], erfc(fit.slope[0] / fit.u[0] / sqrt(2.0)), 0, 1e-9);
}

/* A shift and a gain of a column only change its unit; levels turned round change signs. */
static void test_symmetries(void **state)
{
    struct made made;
    struct sh_ordinal fit;
    struct sh_ordinal other;
    make(&made, 0.8, -0.4, 1);
    assert_int_equal(sh_ordinal_fit(&made.rows, &fit), SH_OK);
    for (size_t i = 0; i < N; i++) {
        made.x[2 * i] = 1000.0 + 0.001 * made.x[2 * i];
        made.level[i] = 3 - made.level[i];
    }
    assert_int_equal(sh_ordinal_fit(&made.rows, &other), SH_OK);
    assert_near(0.001 * other.slope[0], -fit.slope[0], 0, 1e-7);
    assert_near(0.001 * other.u[0], fit.u[0], 0, 1e-7);
    assert_near(other.slope[1], -fit.slope[1], 0, 1e-7);
    assert_near(other.log_likelihood, fit.log_likelihood, 0, 1e-10);
    assert_near(other.p[1], fit.p[1], 0, 1e-6);
}

/* Slopes of many samples lie about the true ones as their u says. */
static void test_errors(void **state)
{
    size_t n_within = 0;
    double sum = 0.0;
    for (uint64_t seed = 1; seed <= 200; seed++) {
        struct made made;
        struct sh_ordinal fit;
        make(&made, 0.5, 0.0, seed);
        assert_int_equal(sh_ordinal_fit(&made.rows, &fit), SH_OK);
        n_within += fabs(fit.slope[0] - 0.5) <= 1.96 * fit.u[0] ? 1 : 0;
        n_within += fit.p[1] >= 0.05 ? 1 : 0;
        sum += fit.slope[0] / 200.0;
    }
    assert_near(sum, 0.5, 0.03, 0);
    assert_in_range(n_within, 366, 394); /* 380 expected, 3 SD either way */
}

static void test_refuses(void **state)
{
    struct made made;
    struct sh_ordinal fit;
    make(&made, 0.5, 0.0, 3);
    struct sh_ordinal_rows rows = made.rows;
    rows.n_columns = 0;
    assert_int_equal(sh_ordinal_fit(&rows, &fit), SH_ERR_ARGUMENT);
    rows = made.rows;
    rows.n_levels = 3; /* and level 3 is there */
    assert_int_equal(sh_ordinal_fit(&rows, &fit), SH_ERR_ARGUMENT);
    rows.n_levels = 1;
    assert_int_equal(sh_ordinal_fit(&rows, &fit), SH_ERR_ARGUMENT);
    rows.n_levels = SH_ORDINAL_LEVELS_MAX + 1;
    assert_int_equal(sh_ordinal_fit(&rows, &fit), SH_ERR_ARGUMENT);
    rows.n_levels = 5; /* nobody has the highest */
    assert_int_equal(sh_ordinal_fit(&rows, &fit), SH_ERR_SHORT);
    const size_t few[5] = {0, 1, 2, 3, 0};
    rows = (struct sh_ordinal_rows){made.x, few, 5, 2, 4}; /* as many terms as rows */
    assert_int_equal(sh_ordinal_fit(&rows, &fit), SH_ERR_SHORT);
    made.x[7] = (double)NAN;
    assert_int_equal(sh_ordinal_fit(&made.rows, &fit), SH_ERR_NOT_FINITE);
}

/* Constant, doubled, and so good that no slope is steep enough. */
static void test_no_peak(void **state)
{
    struct made made;
    struct sh_ordinal fit;
    make(&made, 0.5, 0.0, 3);
    for (size_t i = 0; i < N; i++) {
        made.x[2 * i + 1] = 3.0;
    }
    assert_int_equal(sh_ordinal_fit(&made.rows, &fit), SH_ERR_SINGULAR);
    for (size_t i = 0; i < N; i++) {
        made.x[2 * i + 1] = 2.0 * made.x[2 * i] - 1.0;
    }
    assert_int_equal(sh_ordinal_fit(&made.rows, &fit), SH_ERR_SINGULAR);
    for (size_t i = 0; i < N; i++) {
        made.x[2 * i] = (double)made.level[i] + 0.001 * (double)(i % 7);
        made.x[2 * i + 1] = (double)(i % 5);
    }
    assert_int_equal(sh_ordinal_fit(&made.rows, &fit), SH_ERR_SINGULAR);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_four_counts), cmocka_unit_test(test_symmetries),
        cmocka_unit_test(test_errors),      cmocka_unit_test(test_refuses),
        cmocka_unit_test(test_no_peak),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
