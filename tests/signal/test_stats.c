/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/stats.h"

#include <float.h>
#include <math.h>
#include <string.h>

#include "signal/random.h"
#include "support/cmocka_all.h"
#include "support/near.h"

static void test_small_lists(void **state)
{
    const double x[6] = {3.0, -1.0, 4.0, 1.0, 5.0, 9.0};
    double work[6];
    struct sh_stats stats;
    assert_int_equal(sh_stats_get(x, 6, work, &stats), SH_OK);
    assert_near(stats.mean, 3.5, 1e-15, 0.0);
    assert_near(stats.sd, sqrt(59.5 / 5.0), 1e-14, 0.0);
    assert_near(stats.median, 3.5, 0.0, 0.0);
    assert_near(stats.mad, 2.0, 0.0, 0.0); /* .5 .5 1.5 2.5 4.5 5.5 */
    assert_near(stats.robust_sd, 2.9652, 1e-15, 0.0);
    assert_near(stats.min, -1.0, 0.0, 0.0);
    assert_near(stats.max, 9.0, 0.0, 0.0);
    double median = 0.0;
    assert_int_equal(sh_stats_get_median(x, 5, work, &median, NULL), SH_OK);
    assert_near(median, 3.0, 0.0, 0.0);
    double cv = 0.0;
    assert_int_equal(sh_stats_get_cv(x, 6, &cv), SH_OK);
    assert_near(cv, sqrt(59.5 / 5.0) / 3.5, 1e-14, 0.0);
}

static void test_quantiles(void **state)
{
    const double x[5] = {10.0, 0.0, 30.0, 20.0, 40.0};
    double work[5];
    double q = 0.0;
    for (size_t i = 0; i <= 100; i++) {
        assert_int_equal(sh_stats_get_quantile(x, 5, (double)i / 100.0, work, &q), SH_OK);
        assert_near(q, 0.4 * (double)i, 1e-13, 0.0);
    }
    assert_int_equal(sh_stats_get_quantile(x, 5, -0.001, work, &q), SH_ERR_ARGUMENT);
    assert_int_equal(sh_stats_get_quantile(x, 5, 1.001, work, &q), SH_ERR_ARGUMENT);
    assert_int_equal(sh_stats_get_quantile(x, 5, (double)NAN, work, &q), SH_ERR_ARGUMENT);
    assert_int_equal(sh_stats_get_quantile(x, 0, 0.5, work, &q), SH_ERR_SHORT);
}

/* Selection against sorting, with many ties and with none. */
static void test_select(void **state)
{
    struct sh_random random;
    sh_random_init(&random, 1);
    double x[101];
    double sorted[101];
    double work[101];
    for (size_t trial = 0; trial < 200; trial++) {
        const size_t n = 1 + trial % 101;
        for (size_t i = 0; i < n; i++) {
            x[i] = trial % 2 == 0 ? sh_random_get_normal(&random)
                                  : (double)sh_random_get_below(&random, 5);
        }
        memcpy(sorted, x, sizeof(x));
        sh_stats_sort(sorted, n);
        for (size_t k = 0; k < n; k++) {
            assert_true(k == 0 || sorted[k - 1] <= sorted[k]);
            memcpy(work, x, sizeof(x));
            assert_near(sh_stats_select(work, n, k), sorted[k], 0.0, 0.0);
            for (size_t i = 0; i < n; i++) {
                assert_true(i < k ? work[i] <= work[k] : work[i] >= work[k]);
            }
        }
    }
}

static void test_refusals(void **state)
{
    double x[3] = {1.0, 2.0, (double)INFINITY};
    double work[3];
    double out = 0.0;
    double sd = 0.0;
    struct sh_stats stats;
    assert_int_equal(sh_stats_get(x, 3, work, &stats), SH_ERR_NOT_FINITE);
    assert_int_equal(sh_stats_get_mean(x, 3, &out, NULL), SH_ERR_NOT_FINITE);
    assert_int_equal(sh_stats_get_median(x, 3, work, &out, NULL), SH_ERR_NOT_FINITE);
    assert_int_equal(sh_stats_get_quantile(x, 3, 0.5, work, &out), SH_ERR_NOT_FINITE);
    assert_int_equal(sh_stats_get(x, 1, work, &stats), SH_ERR_SHORT);
    assert_int_equal(sh_stats_get_mean(x, 0, &out, NULL), SH_ERR_SHORT);
    assert_int_equal(sh_stats_get_mean(x, 1, &out, &sd), SH_ERR_SHORT);
    assert_int_equal(sh_stats_get_mean(x, 1, &out, NULL), SH_OK);
    assert_int_equal(sh_stats_get_median(x, 0, work, &out, NULL), SH_ERR_SHORT);
    const double huge[2] = {DBL_MAX, DBL_MAX};
    assert_int_equal(sh_stats_get_mean(huge, 2, &out, NULL), SH_ERR_NOT_FINITE);
    const double wide[2] = {-DBL_MAX, DBL_MAX};
    assert_int_equal(sh_stats_get_quantile(wide, 2, 0.5, work, &out), SH_ERR_NOT_FINITE);
    assert_int_equal(sh_stats_get_median(wide, 2, work, &out, NULL), SH_ERR_NOT_FINITE);
    const double balanced[2] = {-1.0, 1.0};
    assert_int_equal(sh_stats_get_cv(balanced, 2, &out), SH_ERR_SINGULAR);
}

/* 1 2 4 9 about 4: deviations -3 -2 0 5, squares 38, products at lag 1: 6 + 0 + 0. */
static void test_autocorrelation(void **state)
{
    const double x[4] = {1.0, 2.0, 4.0, 9.0};
    const double same[3] = {2.0, 2.0, 2.0};
    const double broken[3] = {2.0, (double)NAN, 2.0};
    const double huge[2] = {-DBL_MAX, DBL_MAX};
    double r = 0.0;
    assert_int_equal(sh_stats_get_autocorrelation(x, 4, 1, &r), SH_OK);
    assert_near(r, 6.0 / 38.0, 1e-15, 0.0);
    assert_int_equal(sh_stats_get_autocorrelation(x, 4, 3, &r), SH_OK);
    assert_near(r, -15.0 / 38.0, 1e-15, 0.0);
    assert_int_equal(sh_stats_get_autocorrelation(x, 4, 0, &r), SH_OK);
    assert_near(r, 1.0, 1e-15, 0.0);
    assert_int_equal(sh_stats_get_autocorrelation(x, 4, 4, &r), SH_ERR_SHORT);
    assert_int_equal(sh_stats_get_autocorrelation(x, 1, 0, &r), SH_ERR_SHORT);
    assert_int_equal(sh_stats_get_autocorrelation(same, 3, 1, &r), SH_ERR_SINGULAR);
    assert_int_equal(sh_stats_get_autocorrelation(broken, 3, 1, &r), SH_ERR_NOT_FINITE);
    assert_int_equal(sh_stats_get_autocorrelation(huge, 2, 1, &r), SH_ERR_NOT_FINITE);
}

static void test_robust_cv(void **state)
{
    const double x[5] = {1.0, 2.0, 4.0, 9.0, -1e6};
    const double about_zero[3] = {-1.0, 0.0, 1.0};
    double work[5];
    double cv = 0.0;
    assert_int_equal(sh_stats_get_robust_cv(x, 4, work, &cv), SH_OK);
    assert_near(cv, 1.4826 * 1.5 / 3.0, 1e-15, 0.0); /* sizes 2 1 1 6 about 3 */
    assert_int_equal(sh_stats_get_robust_cv(x, 5, work, &cv), SH_OK);
    assert_near(cv, 1.4826 * 2.0 / 2.0, 1e-15, 0.0); /* sizes 1 0 2 7 1e6 about 2 */
    assert_int_equal(sh_stats_get_robust_cv(about_zero, 3, work, &cv), SH_ERR_SINGULAR);
    assert_int_equal(sh_stats_get_robust_cv(x, 1, work, &cv), SH_ERR_SHORT);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_small_lists), cmocka_unit_test(test_autocorrelation),
        cmocka_unit_test(test_robust_cv),   cmocka_unit_test(test_quantiles),
        cmocka_unit_test(test_select),      cmocka_unit_test(test_refusals),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
