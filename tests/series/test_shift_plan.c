/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "series/shift_plan.h"

#include <math.h>

#include "support/cmocka_all.h"
#include "support/near.h"

/* Counts themselves are held against SciPy in tests/reference/test_reference_shifts.c. */

/* Quantiles of Student's t with 8 degrees of freedom, SciPy's t.ppf (10 digits). */
#define T_975 2.3060041350333704
#define T_995 3.3553873313333957
#define T_800 0.8888895177669744

static void test_visible(void **state)
{
    const struct sh_shift_plan plain = {.level = 0.05};
    const struct sh_shift_plan strict = {.level = 0.01};
    const struct sh_shift_plan apart = {.level = 0.01, .calibration_u = 3.0};
    assert_near(sh_shift_plan_get_reach(&plain, 2.0, 8.0), 2.0 * T_975, 0.0, 1e-9);
    assert_near(sh_shift_plan_get_reach(&strict, 2.0, 8.0), 2.0 * T_975, 0.0, 1e-9);
    assert_near(sh_shift_plan_get_visible(&plain, 2.0, 8.0), 2.0 * (T_975 + T_800), 0.0, 1e-9);
    assert_near(sh_shift_plan_get_visible(&strict, 2.0, 8.0), 2.0 * (T_995 + T_800), 0.0, 1e-9);
    /* the limits reach further than t of the level does */
    assert_near(sh_shift_plan_get_visible(&apart, 2.0, 8.0),
                hypot(2.0 * T_975, 1.959963984540054 * 3.0) + 2.0 * T_800, 0.0, 1e-9);
}

static void test_needed(void **state)
{
    struct sh_shift_plan plan = {.level = 0.05};
    assert_near(sh_shift_plan_get_needed(&plan, 0.0, 1.0), 0.0, 0.0, 0.0);
    assert_near(sh_shift_plan_get_needed(&plan, 1e-4, 1.0), 0.0, 0.0, 0.0);
    assert_near(sh_shift_plan_get_needed(&plan, 50.0, 1.0), 4.0, 0.0, 0.0); /* p is above .05 */
    const double six = sh_shift_plan_get_needed(&plan, -2.0, 1.0);
    assert_true(six >= 5.0 && six <= 7.0); /* 6 by the noncentral t */
    plan.level = 0.005;
    assert_true(sh_shift_plan_get_needed(&plan, 2.0, 1.0) > six);
    plan = (struct sh_shift_plan){.level = 0.05, .calibration_u = 0.7};
    assert_true(sh_shift_plan_get_needed(&plan, 2.0, 1.0) > six);
}

/* 1.96 times the calibration's uncertainty: on either side of it. */
static void test_hidden(void **state)
{
    const struct sh_shift_plan plan = {.level = 0.05, .calibration_u = 1.0};
    assert_false(sh_shift_plan_is_possible(&plan, -1.9599));
    assert_true(sh_shift_plan_is_possible(&plan, -1.9601));
    assert_near(sh_shift_plan_get_needed(&plan, 1.9599, 0.01), 0.0, 0.0, 0.0);
    assert_true(sh_shift_plan_get_needed(&plan, 1.97, 0.01) >= 4.0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_visible),
        cmocka_unit_test(test_needed),
        cmocka_unit_test(test_hidden),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
