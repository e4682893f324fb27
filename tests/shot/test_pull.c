/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shot/pull.h"

#include <math.h>
#include <stdlib.h>

#include "support/cmocka_all.h"
#include "support/near.h"

#define N 6000u

/* A straight line keeps its place, its rate and its means at any sample rate. */
static void test_line_keeps_its_place(void **state)
{
    static const double rates_hz[] = {10.0, 80.0, 999.0, 1000.0, 2500.0, 10000.0};
    double net_n[N];
    for (size_t i = 0; i < N; i++) {
        net_n[i] = 3.0 + 0.5 * (double)i;
    }
    for (size_t r = 0; r < 6; r++) {
        struct sh_pull *pull = NULL;
        assert_int_equal(sh_pull_open(rates_hz[r], N, &pull, NULL), SH_OK);
        assert_int_equal(sh_pull_load(pull, net_n, N, 1.0), SH_OK);
        assert_near(pull->rate_hz * (double)pull->n_average, rates_hz[r], 1e-9, 0.0);
        assert_true(pull->rate_hz < 2.0 * SH_PULL_RATE_HZ);
        assert_near(pull->noise_n * sqrt((double)pull->n_average), 1.0, 1e-12, 0.0);
        for (size_t i = 0; i < pull->n; i += 7) {
            const double frame = sh_pull_get_frame(pull, (double)i);
            assert_near(pull->force_n[i], 3.0 + 0.5 * frame, 1e-9, 0.0);
            assert_int_equal(sh_pull_get_average(pull, (size_t)frame), i);
        }
        for (size_t i = 0; i < pull->n_means; i += 7) {
            const double frame = sh_pull_get_mean_frame(pull, (double)i);
            assert_near(pull->mean_n[i], 3.0 + 0.5 * frame, 1e-7, 0.0);
        }
        assert_int_equal(sh_pull_find_slope(pull, 3, pull->n), SH_OK);
        for (size_t i = 0; i < pull->n_slopes; i += 7) {
            assert_near(pull->slope_n_per_s[i], 0.5 * rates_hz[r], 1e-6, 0.0);
        }
        sh_pull_close(&pull);
        assert_null(pull);
    }
}

/* What lies behind the end of a slope does not reach into it. */
static void test_slope_ends_where_it_is_told(void **state)
{
    double net_n[N];
    for (size_t i = 0; i < N; i++) {
        net_n[i] = i < 3000 ? 100.0 : 0.0;
    }
    struct sh_pull *pull = NULL;
    assert_int_equal(sh_pull_open(1000.0, N, &pull, NULL), SH_OK);
    assert_int_equal(sh_pull_load(pull, net_n, N, 0.0), SH_OK);
    assert_int_equal(sh_pull_find_slope(pull, 1000, 3000), SH_OK);
    for (size_t i = 0; i < 2000; i++) {
        assert_near(pull->slope_n_per_s[i], 0.0, 1e-9, 0.0);
    }
    assert_int_equal(sh_pull_find_slope(pull, 1000, 3001), SH_OK);
    assert_true(pull->slope_n_per_s[1990] < -1.0);
    assert_int_equal(sh_pull_find_slope(pull, 10, 11), SH_ERR_SHORT);
    assert_int_equal(sh_pull_find_slope(pull, 10, N + 1), SH_ERR_SHORT);
    sh_pull_close(&pull);
}

/* The largest mean inside a span, never one that reaches out of it. */
static void test_largest_stays_inside(void **state)
{
    double net_n[N] = {0};
    for (size_t i = 2000; i < 2100; i++) {
        net_n[i] = 5.0;
    }
    struct sh_pull *pull = NULL;
    size_t mean = 0;
    assert_int_equal(sh_pull_open(1000.0, N, &pull, NULL), SH_OK);
    assert_int_equal(sh_pull_load(pull, net_n, N, 0.0), SH_OK);
    assert_near(sh_pull_get_largest(pull, 0, N, &mean), 5.0, 1e-9, 0.0);
    assert_int_equal(mean, 2000);
    assert_near(sh_pull_get_largest(pull, 0, 2010, &mean), 2.5, 1e-9, 0.0);
    assert_int_equal(mean, 1990);
    assert_near(sh_pull_get_largest(pull, 0, 2000, &mean), 0.0, 1e-9, 0.0);
    assert_near(sh_pull_get_largest(pull, 2095, 2100, &mean), 1.25, 1e-9, 0.0);
    assert_int_equal(mean, 2095);
    sh_pull_close(&pull);
}

static void test_refuses(void **state)
{
    struct sh_pull *pull = NULL;
    struct sh_error err = {0};
    assert_int_equal(sh_pull_open(9.9, N, &pull, &err), SH_ERR_ARGUMENT);
    assert_int_equal(err.status, SH_ERR_ARGUMENT);
    assert_int_equal(sh_pull_open((double)NAN, N, &pull, NULL), SH_ERR_ARGUMENT);
    assert_int_equal(sh_pull_open(1.1e6, N, &pull, NULL), SH_ERR_ARGUMENT);
    assert_null(pull);
    assert_int_equal(sh_pull_open(1000.0, 100, &pull, NULL), SH_OK);
    double net_n[300] = {0};
    assert_int_equal(sh_pull_load(pull, net_n, 19, 0.0), SH_ERR_SHORT);
    assert_int_equal(sh_pull_load(pull, net_n, 20, 0.0), SH_OK);
    assert_int_equal(sh_pull_load(pull, net_n, 300, 0.0), SH_OK);
    assert_int_equal(pull->n, 101);
    net_n[50] = (double)NAN;
    assert_int_equal(sh_pull_load(pull, net_n, 100, 0.0), SH_ERR_NOT_FINITE);
    sh_pull_close(&pull);
    sh_pull_close(&pull);
    sh_pull_close(NULL);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_line_keeps_its_place),
        cmocka_unit_test(test_slope_ends_where_it_is_told),
        cmocka_unit_test(test_largest_stays_inside),
        cmocka_unit_test(test_refuses),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
