/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shot/match.h"

#include <math.h>
#include <string.h>

#include "support/cmocka_all.h"
#include "support/near.h"

#define N ((size_t)60)

static const struct sh_match match = {.n_axes = 2, .n_frames = N, .lag_max = 8};

/* A smooth wave packet of length 1 in two axes, its middle at a place. */
static void fill(double *shape, double middle)
{
    double square = 0.0;
    for (size_t a = 0; a < 2; a++) {
        for (size_t i = 0; i < N; i++) {
            const double t = ((double)i - middle) / 5.0;
            shape[a * N + i] = exp(-0.5 * t * t) * (a == 0 ? cos(2.0 * t) : 0.5 * sin(2.0 * t));
            square += shape[a * N + i] * shape[a * N + i];
        }
    }
    for (size_t i = 0; i < 2 * N; i++) {
        shape[i] /= sqrt(square);
    }
}

static void test_align(void **state)
{
    double one[2 * N];
    double two[2 * N];
    fill(one, 28.0);
    for (int k = 0; k < 33; k++) {
        const double lag = -6.0 + 0.37 * k;
        double found = 99.0;
        fill(two, 28.0 + lag);
        assert_near(sh_match_align(&match, one, two, &found), 1.0, 0.03, 0.0);
        assert_near(found, lag, 0.03, 0.0);
        double sum[2 * N] = {0};
        assert_near(sh_match_get_amount(&match, one, two, lag), 1.0, 0.03, 0.0);
        sh_match_add_shifted(&match, two, lag, 3.0, sum);
        double off = 0.0;
        for (size_t i = 0; i < 2 * N; i++) {
            off = fmax(off, fabs(sum[i] - 3.0 * one[i]));
        }
        assert_true(off < 0.05);
    }
}

static void test_unlike_and_nothing(void **state)
{
    double one[2 * N];
    double two[2 * N];
    double lag = 0.0;
    fill(one, 28.0);
    for (size_t i = 0; i < 2 * N; i++) {
        two[i] = i % 2 == 0 ? 1.0 : -1.0;
    }
    assert_true(sh_match_align(&match, one, two, &lag) < 0.2);
    memset(two, 0, sizeof two);
    assert_near(sh_match_align(&match, one, two, &lag), 0.0, 0.0, 0.0);
}

/* The filter tells amount and place of a shape that is hidden in a longer trace. */
static void test_filter(void **state)
{
    double shape[2 * N];
    double x[200] = {0};
    double amount[200] = {0};
    fill(shape, 28.0);
    const double *axis = shape;
    for (size_t i = 0; i < N; i++) {
        x[70 + i] = 5.0 * axis[i];
    }
    sh_match_filter(&match, axis, x, 200, amount);
    double square = 0.0;
    for (size_t i = 0; i < N; i++) {
        square += axis[i] * axis[i];
    }
    size_t peak = 0;
    for (size_t i = 0; i < 200; i++) {
        peak = amount[i] > amount[peak] ? i : peak;
    }
    assert_int_equal(peak, 70);
    assert_near(amount[70], 5.0 * square, 1e-9, 0.0);
    assert_near(sh_match_get_top(amount, 200, 70), 70.0, 0.05, 0.0);
}

static void test_top(void **state)
{
    double x[9];
    for (size_t i = 0; i < 9; i++) {
        x[i] = 3.0 - ((double)i - 4.3) * ((double)i - 4.3);
    }
    assert_near(sh_match_get_top(x, 9, 4), 4.3, 1e-9, 0.0);
    assert_near(sh_match_get_top(x, 9, 0), 0.0, 0.0, 0.0);
    assert_near(sh_match_get_top(x, 9, 8), 8.0, 0.0, 0.0);
    const double flat[3] = {1.0, 1.0, 1.0};
    assert_near(sh_match_get_top(flat, 3, 1), 1.0, 0.0, 0.0);
}

/* The slope of a sine of length 1: its angular frequency per frame. */
static void test_bend(void **state)
{
    double shape[2 * N] = {0};
    double square = 0.0;
    for (size_t i = 0; i < N; i++) {
        shape[i] = sin(2.0 * 3.14159265358979 * (double)i / 20.0);
        square += shape[i] * shape[i];
    }
    for (size_t i = 0; i < N; i++) {
        shape[i] /= sqrt(square);
    }
    assert_near(sh_match_get_bend(&match, shape), 2.0 * 3.14159265358979 / 20.0, 0.0, 0.05);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_align),  cmocka_unit_test(test_unlike_and_nothing),
        cmocka_unit_test(test_filter), cmocka_unit_test(test_top),
        cmocka_unit_test(test_bend),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
