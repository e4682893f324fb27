/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/line_fit.h"

#include <math.h>

#include "support/cmocka_all.h"
#include "support/near.h"

#define N 6

static const double x_values[N] = {0.0, 1.0, 2.0, 3.0, 4.0, 4.0};
static const double y_values[N] = {1.0, 2.9, 5.2, 7.1, 8.8, 9.1};
static double work[SH_LINE_FIT_WORK(N + 3, SH_LINE_FIT_DEGREE_MAX)];

/* A weight of 4 is the same point four times over, but for the freedom. */
static void test_weights(void **state)
{
    const double weight[N] = {1.0, 4.0, 1.0, 1.0, 1.0, 1.0};
    double x[N + 3];
    double y[N + 3];
    for (size_t i = 0; i < N + 3; i++) {
        x[i] = x_values[i < N ? i : 1];
        y[i] = y_values[i < N ? i : 1];
    }
    struct sh_line_fit weighted;
    struct sh_line_fit repeated;
    const struct sh_line_fit_points one = {x_values, y_values, weight, N, 1, false};
    const struct sh_line_fit_points four = {x, y, NULL, N + 3, 1, false};
    assert_int_equal(sh_line_fit_solve(&one, work, &weighted), SH_OK);
    assert_int_equal(sh_line_fit_solve(&four, work, &repeated), SH_OK);
    for (size_t k = 0; k < 2; k++) {
        assert_near(weighted.coefficient[k], repeated.coefficient[k], 0.0, 1e-13);
        for (size_t j = 0; j < 2; j++) {
            assert_near(weighted.covariance[k][j] * 4.0, repeated.covariance[k][j] * 7.0, 0.0,
                        1e-12);
        }
    }
    assert_near(weighted.residual_squares, repeated.residual_squares, 0.0, 1e-12);
    assert_near(weighted.r_squared, repeated.r_squared, 0.0, 1e-13);
}

/* Limits of a straight line in closed form (Fieller 1954): a quadratic in x. */
static void test_inverse(void **state)
{
    struct sh_line_fit fit;
    const struct sh_line_fit_points points = {x_values, y_values, NULL, N, 1, false};
    assert_int_equal(sh_line_fit_solve(&points, work, &fit), SH_OK);
    struct sh_line_fit_inverse inverse;
    assert_int_equal(sh_line_fit_find_x(&fit, 5.0, 0.95, &inverse), SH_OK);
    assert_near(sh_line_fit_get_value(&fit, inverse.x, NULL), 5.0, 1e-12, 0.0);
    const double t = 2.7764451051977987; /* 4 degrees of freedom */
    const double t2 = t * t;
    const double p = 5.0 - fit.coefficient[0];
    const double slope = fit.coefficient[1];
    const double s2 = fit.residual_sd * fit.residual_sd;
    const double a = slope * slope - t2 * fit.covariance[1][1];
    const double b = p * slope + t2 * fit.covariance[0][1];
    const double c = p * p - t2 * (s2 + fit.covariance[0][0]);
    assert_near(inverse.lo, (b - sqrt(b * b - a * c)) / a, 0.0, 1e-11);
    assert_near(inverse.hi, (b + sqrt(b * b - a * c)) / a, 0.0, 1e-11);
    assert_int_equal(sh_line_fit_find_x(&fit, 50.0, 0.95, &inverse), SH_ERR_NOT_FOUND);
    assert_int_equal(sh_line_fit_find_x(&fit, 5.0, 1.0, &inverse), SH_ERR_ARGUMENT);
    assert_int_equal(sh_line_fit_find_x(&fit, (double)NAN, 0.9, &inverse), SH_ERR_NOT_FINITE);
    const struct sh_line_fit_points two = {x_values, y_values, NULL, 2, 1, false};
    assert_int_equal(sh_line_fit_solve(&two, work, &fit), SH_OK);
    assert_int_equal(sh_line_fit_find_x(&fit, 2.0, 0.9, &inverse), SH_ERR_SHORT);
}

static void test_lack_refusals(void **state)
{
    struct sh_line_fit fit;
    struct sh_line_fit longer;
    struct sh_line_fit_test test;
    struct sh_line_fit_points points = {x_values, y_values, NULL, N, 1, false};
    assert_int_equal(sh_line_fit_solve(&points, work, &fit), SH_OK);
    assert_int_equal(sh_line_fit_test_lack(&points, &fit, &test), SH_OK);
    assert_int_equal(test.freedom1, 3);
    assert_int_equal(test.freedom2, 1);
    assert_near(test.f, (fit.residual_squares - 0.045) / 3.0 / 0.045, 0.0, 1e-11);
    assert_int_equal(sh_line_fit_test_terms(&fit, &fit, &test), SH_ERR_ARGUMENT);
    points.weight = x_values;
    assert_int_equal(sh_line_fit_test_lack(&points, &fit, &test), SH_ERR_ARGUMENT);
    points.weight = NULL;
    points.n = 5;
    assert_int_equal(sh_line_fit_solve(&points, work, &fit), SH_OK);
    assert_int_equal(sh_line_fit_test_lack(&points, &fit, &test), SH_ERR_SHORT);
    points.degree = 4;
    assert_int_equal(sh_line_fit_solve(&points, work, &longer), SH_OK);
    assert_int_equal(sh_line_fit_test_terms(&fit, &longer, &test), SH_ERR_SHORT);
}

static void test_refusals(void **state)
{
    struct sh_line_fit fit;
    double x[3] = {2.0, 2.0, 2.0};
    double weight[3] = {1.0, 0.0, 1.0};
    struct sh_line_fit_points points = {x, y_values, NULL, 3, 1, false};
    assert_int_equal(sh_line_fit_solve(&points, work, &fit), SH_ERR_SINGULAR);
    points.degree = 0;
    assert_int_equal(sh_line_fit_solve(&points, work, &fit), SH_OK);
    assert_near(fit.coefficient[0], 9.1 / 3.0, 1e-14, 0.0);
    points.through_zero = true;
    assert_int_equal(sh_line_fit_solve(&points, work, &fit), SH_ERR_ARGUMENT);
    points.through_zero = false;
    points.degree = SH_LINE_FIT_DEGREE_MAX + 1;
    assert_int_equal(sh_line_fit_solve(&points, work, &fit), SH_ERR_ARGUMENT);
    points.degree = 3;
    assert_int_equal(sh_line_fit_solve(&points, work, &fit), SH_ERR_SHORT);
    points.degree = 1;
    points.weight = weight;
    assert_int_equal(sh_line_fit_solve(&points, work, &fit), SH_ERR_ARGUMENT);
    weight[1] = (double)NAN;
    assert_int_equal(sh_line_fit_solve(&points, work, &fit), SH_ERR_NOT_FINITE);
    x[1] = (double)INFINITY;
    points.weight = NULL;
    assert_int_equal(sh_line_fit_solve(&points, work, &fit), SH_ERR_NOT_FINITE);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_weights),
        cmocka_unit_test(test_inverse),
        cmocka_unit_test(test_lack_refusals),
        cmocka_unit_test(test_refusals),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
