/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/chi_square.h"

#include <math.h>

#include "support/cmocka_all.h"
#include "support/near.h"

/* Even degrees of freedom: 1 - exp(-x/2) sum of (x/2)^j / j!; one: erf(sqrt(x/2)). */
static void test_closed_forms(void **state)
{
    for (size_t i = 0; i < 36; i++) {
        double x = 0.01 * pow(1.3, (double)i);
        double term = exp(-0.5 * x);
        double tail = 0.0;
        for (size_t j = 0; j < 10; j++) {
            tail += term;
            term *= 0.5 * x / (double)(j + 1);
            double freedom = 2.0 * (double)(j + 1);
            assert_near(sh_chi_square_get_probability(x, freedom), 1.0 - tail, 1e-14, 1e-12);
        }
        assert_near(sh_chi_square_get_probability(x, 1.0), erf(sqrt(0.5 * x)), 1e-14, 1e-12);
    }
    assert_near(sh_chi_square_get_probability(0.0, 3.0), 0.0, 0.0, 0.0);
    assert_near(sh_chi_square_get_probability(-1.0, 3.0), 0.0, 0.0, 0.0);
}

/* Two degrees of freedom: -2 ln(1 - p); and back again for others. */
static void test_quantiles(void **state)
{
    const double freedoms[5] = {0.7, 1.0, 9.6, 200.0, 5000.0};
    for (size_t k = 0; k <= 20; k++) {
        double p = 0.001 + 0.0499 * (double)k;
        assert_near(sh_chi_square_get_quantile(p, 2.0), -2.0 * log1p(-p), 1e-15, 1e-11);
        for (size_t i = 0; i < 5; i++) {
            double x = sh_chi_square_get_quantile(p, freedoms[i]);
            assert_near(sh_chi_square_get_probability(x, freedoms[i]), p, 1e-11, 0.0);
        }
    }
    assert_true(isnan(sh_chi_square_get_quantile(0.0, 2.0)));
    assert_true(isnan(sh_chi_square_get_quantile(1.0, 2.0)));
    assert_true(isnan(sh_chi_square_get_quantile(0.5, 0.0)));
    assert_true(isnan(sh_chi_square_get_quantile((double)NAN, 2.0)));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_closed_forms),
        cmocka_unit_test(test_quantiles),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
