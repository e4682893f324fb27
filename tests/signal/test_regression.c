/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/regression.h"

#include <float.h>
#include <math.h>

#include "signal/random.h"
#include "support/cmocka_all.h"
#include "support/near.h"

static enum sh_status
solve(const double *x, const double *y, size_t n, size_t k, struct sh_regression *regression)
{
    static double work[SH_REGRESSION_WORK(100, SH_REGRESSION_COLUMNS_MAX)];
    const struct sh_regression_rows rows = {x, y, n, k};
    return sh_regression_solve(&rows, work, regression);
}

/* y = 7 + 2 a - 0.5 b exactly. */
static void test_exact(void **state)
{
    const double x[10] = {1.0, 4.0, 2.0, 0.0, 3.0, 5.0, 4.0, 1.0, 5.0, 9.0};
    double y[5];
    for (size_t i = 0; i < 5; i++) {
        y[i] = 7.0 + 2.0 * x[2 * i] - 0.5 * x[2 * i + 1];
    }
    struct sh_regression got;
    assert_int_equal(solve(x, y, 5, 2, &got), SH_OK);
    assert_int_equal(got.n_terms, 3);
    assert_int_equal(got.freedom, 2);
    assert_near(got.coefficient[0], 7.0, 1e-13, 0.0);
    assert_near(got.coefficient[1], 2.0, 1e-13, 0.0);
    assert_near(got.coefficient[2], -0.5, 1e-13, 0.0);
    assert_near(got.r_squared, 1.0, 1e-14, 0.0);
    assert_int_equal(solve(x, y, 3, 2, &got), SH_OK); /* no freedom left: no errors */
    assert_near(got.coefficient[1], 2.0, 1e-12, 0.0);
    assert_near(got.u[1], 0.0, 0.0, 0.0);
    assert_near(got.p[1], 1.0, 0.0, 0.0);
}

/* One column, by the textbook's sums: 1 2 3 4 against 1 3 2 5. */
static void test_by_hand(void **state)
{
    const double x[4] = {1.0, 2.0, 3.0, 4.0};
    const double y[4] = {1.0, 3.0, 2.0, 5.0};
    struct sh_regression got;
    assert_int_equal(solve(x, y, 4, 1, &got), SH_OK);
    /* sums about the means: xx 5, xy 5.5, yy 8.75 */
    assert_near(got.coefficient[1], 1.1, 1e-14, 0.0);
    assert_near(got.coefficient[0], 0.0, 1e-14, 0.0);
    assert_near(got.residual_squares, 8.75 - 1.1 * 5.5, 1e-13, 0.0);
    assert_near(got.u[1], sqrt(1.35 / 5.0), 1e-13, 0.0);
    assert_near(got.u[0], sqrt(1.35 * (0.25 + 6.25 / 5.0)), 1e-13, 0.0);
    assert_near(got.inflation[1], 1.0, 1e-14, 0.0);
    /* with 2 degrees of freedom p = 1 - t / sqrt(2 + t^2) */
    const double t = 1.1 / sqrt(1.35 / 5.0);
    assert_near(got.p[1], 1.0 - t / sqrt(2.0 + t * t), 1e-12, 0.0);
}

/* Stated errors against what repetition shows; two columns with correlation 0.9. */
static void test_errors(void **state)
{
    enum { RUNS = 2000, N = 25 };
    double x[2 * N];
    double y[N];
    double squares[3] = {0.0};
    double variance[3] = {0.0};
    struct sh_regression got;
    struct sh_random random;
    sh_random_init(&random, 8);
    for (size_t i = 0; i < N; i++) {
        x[2 * i] = 100.0 + sh_random_get_normal(&random);
        x[2 * i + 1] = 0.9 * x[2 * i] + sqrt(0.19) * sh_random_get_normal(&random);
    }
    for (size_t r = 0; r < RUNS; r++) {
        for (size_t i = 0; i < N; i++) {
            y[i] = 3.0 + x[2 * i] - 2.0 * x[2 * i + 1] + sh_random_get_normal(&random);
        }
        assert_int_equal(solve(x, y, N, 2, &got), SH_OK);
        const double truth[3] = {3.0, 1.0, -2.0};
        for (size_t k = 0; k < 3; k++) {
            squares[k] += pow(got.coefficient[k] - truth[k], 2.0);
            variance[k] += got.u[k] * got.u[k];
        }
    }
    for (size_t k = 0; k < 3; k++) {
        assert_near(sqrt(variance[k] / squares[k]), 1.0, 0.06, 0.0);
    }
    assert_true(got.inflation[1] > 3.0);
    assert_near(got.inflation[1], got.inflation[2], 1e-9, 0.0);
}

static void test_refusals(void **state)
{
    const double x[8] = {1.0, 2.0, 2.0, 4.0, 3.0, 6.0, 5.0, 10.0};
    const double flat[4] = {0.1, 0.1, 0.1, 0.1};
    const double y[4] = {1.0, 3.0, 2.0, 5.0};
    const double broken[4] = {1.0, (double)NAN, 2.0, 5.0};
    const double huge[4] = {-DBL_MAX, DBL_MAX, 2.0, 5.0};
    struct sh_regression got;
    assert_int_equal(solve(x, y, 4, 0, &got), SH_ERR_ARGUMENT);
    assert_int_equal(solve(x, y, 4, SH_REGRESSION_COLUMNS_MAX + 1, &got), SH_ERR_ARGUMENT);
    assert_int_equal(solve(x, y, 2, 2, &got), SH_ERR_SHORT);
    assert_int_equal(solve(x, y, 4, 2, &got), SH_ERR_SINGULAR);
    assert_int_equal(solve(flat, y, 4, 1, &got), SH_ERR_SINGULAR);
    assert_int_equal(solve(broken, y, 4, 1, &got), SH_ERR_NOT_FINITE);
    assert_int_equal(solve(y, broken, 4, 1, &got), SH_ERR_NOT_FINITE);
    assert_int_equal(solve(huge, y, 4, 1, &got), SH_ERR_NOT_FINITE);
    assert_int_equal(solve(y, huge, 4, 1, &got), SH_ERR_NOT_FINITE);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_exact),
        cmocka_unit_test(test_by_hand),
        cmocka_unit_test(test_errors),
        cmocka_unit_test(test_refusals),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
