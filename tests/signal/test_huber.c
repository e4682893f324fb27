/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/huber.h"

#include <float.h>
#include <math.h>

#include "signal/random.h"
#include "support/cmocka_all.h"
#include "support/near.h"

/* Residuals held at k scales add up to 0, and half of them are below 0.6745 scales. */
static void test_by_equation(void **state)
{
    const double x[5] = {0.0, 1.6, 2.3, 3.1, 100.0};
    double work[10];
    struct sh_huber_location got;
    assert_int_equal(sh_huber_find_location(x, 5, work, &got), SH_OK);
    double sum = 0.0;
    size_t n_held = 0;
    size_t n_below = 0;
    size_t n_at_most = 0;
    for (size_t i = 0; i < 5; i++) {
        const double most = SH_HUBER_K * got.scale;
        const double size = fabs(x[i] - got.value);
        sum += fmax(fmin(x[i] - got.value, most), -most);
        n_held += size > most ? 1 : 0;
        n_below += size < 0.6744897501960817 * got.scale * (1.0 - 1e-8) ? 1 : 0;
        n_at_most += size <= 0.6744897501960817 * got.scale * (1.0 + 1e-8) ? 1 : 0;
    }
    assert_near(sum, 0.0, 1e-8, 0.0);
    assert_int_equal(got.n_limited, n_held);
    assert_int_equal(n_below, 2);
    assert_int_equal(n_at_most, 3);
    assert_true(got.value < 3.1);
}

/* Exact numbers stay exact; half or more alike have no scale. */
static void test_no_scatter(void **state)
{
    const double x[5] = {7.0, 7.0, 7.0, 9.0, 1e9};
    const double t[6] = {1.0, 2.0, 3.0, 4.0, 5.0, 6.0};
    double y[6];
    double work[12];
    struct sh_huber_location location;
    struct sh_huber_line line;
    assert_int_equal(sh_huber_find_location(x, 5, work, &location), SH_OK);
    assert_near(location.value, 7.0, 0.0, 0.0);
    assert_near(location.u, 0.0, 0.0, 0.0);
    for (size_t i = 0; i < 6; i++) {
        y[i] = 5.0 - 0.5 * t[i];
    }
    assert_int_equal(sh_huber_fit_line(t, y, 6, work, &line), SH_OK);
    assert_near(line.slope, -0.5, 1e-13, 0.0);
    assert_near(line.intercept, 5.0, 1e-13, 0.0);
    assert_near(line.slope_u, 0.0, 1e-13, 0.0);
}

/* A gain scales value and error, an offset moves the value, wild numbers hardly matter. */
static void test_equivariance(void **state)
{
    double x[40];
    double y[40];
    double moved[40];
    double work[80];
    struct sh_random random;
    struct sh_huber_line line;
    struct sh_huber_line other;
    struct sh_huber_location location[2];
    sh_random_init(&random, 12);
    for (size_t i = 0; i < 40; i++) {
        x[i] = 0.1 * (double)i;
        y[i] = 2.0 + 3.0 * x[i] + 0.2 * sh_random_get_normal(&random);
        y[i] += i % 10 == 7 ? 40.0 : 0.0;
        moved[i] = 1000.0 - 8.0 * y[i];
    }
    assert_int_equal(sh_huber_fit_line(x, y, 40, work, &line), SH_OK);
    assert_int_equal(sh_huber_fit_line(x, moved, 40, work, &other), SH_OK);
    assert_near(line.slope, 3.0, 4.0 * line.slope_u, 0.0);
    assert_true(line.slope_u < 0.06);
    assert_true(line.n_limited >= 4);
    assert_near(other.slope, -8.0 * line.slope, 1e-7, 0.0);
    assert_near(other.slope_u, 8.0 * line.slope_u, 1e-7, 0.0);
    assert_near(other.intercept, 1000.0 - 8.0 * line.intercept, 1e-6, 0.0);
    assert_int_equal(sh_huber_find_location(y, 40, work, &location[0]), SH_OK);
    assert_int_equal(sh_huber_find_location(moved, 40, work, &location[1]), SH_OK);
    assert_near(location[1].value, 1000.0 - 8.0 * location[0].value, 1e-6, 0.0);
    assert_near(location[1].u, 8.0 * location[0].u, 1e-7, 0.0);
}

/* Normal numbers: the stated error is what repetition shows, 1 / sqrt(0.95 n). */
static void test_error(void **state)
{
    enum { RUNS = 2000, N = 30 };
    double x[N];
    double y[N];
    double work[2 * N];
    double squares[2] = {0.0, 0.0};
    double variances[2] = {0.0, 0.0};
    struct sh_random random;
    sh_random_init(&random, 77);
    for (size_t r = 0; r < RUNS; r++) {
        struct sh_huber_location location;
        struct sh_huber_line line;
        for (size_t i = 0; i < N; i++) {
            x[i] = (double)i / N;
            y[i] = sh_random_get_normal(&random);
        }
        assert_int_equal(sh_huber_find_location(y, N, work, &location), SH_OK);
        assert_int_equal(sh_huber_fit_line(x, y, N, work, &line), SH_OK);
        squares[0] += location.value * location.value / RUNS;
        variances[0] += location.u * location.u / RUNS;
        squares[1] += line.slope * line.slope / RUNS;
        variances[1] += line.slope_u * line.slope_u / RUNS;
    }
    assert_near(squares[0] * 0.95 * N, 1.0, 0.1, 0.0);
    for (size_t k = 0; k < 2; k++) {
        assert_near(sqrt(variances[k] / squares[k]), 1.0, 0.06, 0.0);
    }
}

static void test_refusals(void **state)
{
    const double x[3] = {1.0, 2.0, 4.0};
    const double flat[3] = {1.0, 1.0, 1.0};
    const double broken[3] = {1.0, (double)NAN, 2.0};
    const double huge[3] = {-DBL_MAX, DBL_MAX, DBL_MAX};
    double work[6];
    struct sh_huber_location location;
    struct sh_huber_line line;
    assert_int_equal(sh_huber_find_location(x, 1, work, &location), SH_ERR_SHORT);
    assert_int_equal(sh_huber_find_location(x, 2, work, &location), SH_OK);
    assert_int_equal(sh_huber_find_location(broken, 3, work, &location), SH_ERR_NOT_FINITE);
    assert_int_equal(sh_huber_find_location(huge, 2, work, &location), SH_ERR_NOT_FINITE);
    assert_int_equal(sh_huber_fit_line(x, x, 2, work, &line), SH_ERR_SHORT);
    assert_int_equal(sh_huber_fit_line(broken, x, 3, work, &line), SH_ERR_NOT_FINITE);
    assert_int_equal(sh_huber_fit_line(x, broken, 3, work, &line), SH_ERR_NOT_FINITE);
    assert_int_equal(sh_huber_fit_line(flat, x, 3, work, &line), SH_ERR_SINGULAR);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_by_equation),  cmocka_unit_test(test_no_scatter),
        cmocka_unit_test(test_equivariance), cmocka_unit_test(test_error),
        cmocka_unit_test(test_refusals),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
