/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/distribution.h"

#include <gsl/gsl_cdf.h>
#include <gsl/gsl_errno.h>
#include <gsl/gsl_sf_gamma.h>
#include <math.h>

#include "base/units.h"
#include "support/cmocka_all.h"
#include "support/near.h"

static const double tails[9] = {1e-10, 1e-6, 0.001, 0.025, 0.3, 0.5, 0.8, 0.975, 0.9999};
static const double freedoms[8] = {0.5, 1.0, 2.0, 3.7, 9.0, 30.0, 200.0, 1000.0};

static void test_normal(void **state)
{
    for (size_t i = 0; i < 9; i++) {
        double x = sh_distribution_get_normal_quantile(tails[i]);
        assert_near(x, gsl_cdf_ugaussian_Pinv(tails[i]), 1e-15, 1e-14);
        assert_near(sh_distribution_get_normal(x), tails[i], 0.0, 1e-14);
    }
    assert_near(sh_distribution_get_normal_quantile(1e-300), -37.0471, 1e-4, 0.0);
}

static void test_student(void **state)
{
    for (size_t k = 0; k < 8; k++) {
        for (size_t i = 0; i < 9; i++) {
            double t = gsl_cdf_tdist_Pinv(tails[i], freedoms[k]);
            assert_near(sh_distribution_get_t(t, freedoms[k]), gsl_cdf_tdist_P(t, freedoms[k]),
                        1e-15, 1e-12);
            double back = sh_distribution_get_t_quantile(tails[i], freedoms[k]);
            assert_near(sh_distribution_get_t(back, freedoms[k]), tails[i], 0.0, 1e-12);
        }
    }
    /* one and two degrees of freedom in closed form */
    for (size_t i = 0; i < 9; i++) {
        double p = tails[i];
        assert_near(sh_distribution_get_t_quantile(p, 1.0), -1.0 / tan(SH_PI * p), 1e-15,
                    1e-11);
        assert_near(sh_distribution_get_t_quantile(p, 2.0),
                    (2.0 * p - 1.0) / sqrt(2.0 * p * (1.0 - p)), 1e-15, 1e-11);
    }
    assert_near(sh_distribution_get_t_quantile(0.975, 9.0), 2.262157162798205, 0.0, 1e-13);
}

static void test_f_and_beta(void **state)
{
    for (size_t k = 0; k < 8; k++) {
        for (size_t j = 0; j < 8; j++) {
            for (size_t i = 0; i < 20; i++) {
                double f = 0.01 * pow(1.7, (double)i);
                assert_near(sh_distribution_get_f_upper(f, freedoms[k], freedoms[j]),
                            gsl_cdf_fdist_Q(f, freedoms[k], freedoms[j]), 1e-15, 1e-11);
            }
            double f = sh_distribution_get_f_quantile(0.95, freedoms[k], freedoms[j]);
            assert_near(sh_distribution_get_f_upper(f, freedoms[k], freedoms[j]), 0.05, 0.0,
                        1e-11);
        }
    }
    for (size_t i = 0; i <= 10; i++) {
        double x = 0.1 * (double)i;
        assert_near(sh_distribution_get_beta(x, 2.5, 0.7), gsl_sf_beta_inc(2.5, 0.7, x), 1e-15,
                    1e-12);
        assert_near(sh_distribution_get_beta(x, 3.0, 1.0), x * x * x, 1e-15, 1e-13);
    }
}

static void test_refusals(void **state)
{
    const double nan = (double)NAN;
    assert_true(isnan(sh_distribution_get_normal_quantile(0.0)));
    assert_true(isnan(sh_distribution_get_normal_quantile(1.0)));
    assert_true(isnan(sh_distribution_get_normal_quantile(nan)));
    assert_true(isnan(sh_distribution_get_t(nan, 3.0)));
    assert_true(isnan(sh_distribution_get_t(1.0, 0.0)));
    assert_true(isnan(sh_distribution_get_t_quantile(0.0, 3.0)));
    assert_true(isnan(sh_distribution_get_t_quantile(0.5, -1.0)));
    assert_true(isnan(sh_distribution_get_f_upper(-1.0, 1.0, 1.0)));
    assert_true(isnan(sh_distribution_get_f_quantile(0.5, 1.0, nan)));
    assert_true(isnan(sh_distribution_get_beta(1.1, 1.0, 1.0)));
    assert_near(sh_distribution_get_t((double)INFINITY, 3.0), 1.0, 0.0, 0.0);
    assert_near(sh_distribution_get_f_upper((double)INFINITY, 3.0, 2.0), 0.0, 0.0, 0.0);
    assert_near(sh_distribution_get_f_upper(0.0, 3.0, 2.0), 1.0, 0.0, 0.0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_normal),
        cmocka_unit_test(test_student),
        cmocka_unit_test(test_f_and_beta),
        cmocka_unit_test(test_refusals),
    };
    (void)gsl_set_error_handler_off();
    return cmocka_run_group_tests(tests, NULL, NULL);
}
