/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/holm.h"

#include <math.h>

#include "support/cmocka_all.h"
#include "support/near.h"

/* By hand: 4 x .005, 3 x .01, then 2 x .03 and 1 x .04, which may not fall below .06. */
static void test_by_hand(void **state)
{
    const double p[4] = {0.01, 0.04, 0.03, 0.005};
    const double expected[4] = {0.03, 0.06, 0.06, 0.02};
    size_t order[4];
    double adjusted[4];
    assert_int_equal(sh_holm_adjust(p, 4, order, adjusted), SH_OK);
    for (size_t i = 0; i < 4; i++) {
        assert_near(adjusted[i], expected[i], 1e-16, 1e-15);
    }
}

static void test_limits(void **state)
{
    double p[5] = {1.0, 0.0, 0.6, 0.6, 0.9};
    size_t order[5];
    assert_int_equal(sh_holm_adjust(p, 5, order, p), SH_OK); /* in place */
    const double expected[5] = {1.0, 0.0, 1.0, 1.0, 1.0};
    for (size_t i = 0; i < 5; i++) {
        assert_near(p[i], expected[i], 0.0, 0.0);
    }
    double alone = 0.03;
    assert_int_equal(sh_holm_adjust(&alone, 1, order, &alone), SH_OK);
    assert_near(alone, 0.03, 0.0, 0.0);
    assert_int_equal(sh_holm_adjust(&alone, 0, order, &alone), SH_OK);
}

static void test_refusals(void **state)
{
    const double above[2] = {0.5, 1.0000001};
    const double below[2] = {-1e-9, 0.5};
    const double broken[2] = {(double)NAN, 0.5};
    size_t order[2];
    double adjusted[2] = {7.0, 7.0};
    assert_int_equal(sh_holm_adjust(above, 2, order, adjusted), SH_ERR_ARGUMENT);
    assert_int_equal(sh_holm_adjust(below, 2, order, adjusted), SH_ERR_ARGUMENT);
    assert_int_equal(sh_holm_adjust(broken, 2, order, adjusted), SH_ERR_NOT_FINITE);
    assert_near(adjusted[0], 7.0, 0.0, 0.0);
    assert_near(adjusted[1], 7.0, 0.0, 0.0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_by_hand),
        cmocka_unit_test(test_limits),
        cmocka_unit_test(test_refusals),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
