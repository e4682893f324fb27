/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "series/shift_plan.h"

#include <math.h>

#include "support/cmocka_all.h"
#include "support/near.h"

/* Counts themselves are held against SciPy in tests/reference/test_reference_shifts.c. */

#define MANY 1e6 /* degrees of freedom: as good as known */

/* A comparison whose scatter and level are as good as known: chances are those of the normal
 * law. */
static struct sh_shift_trial get_known(double u)
{
    return (struct sh_shift_trial){.u = u, .freedom = MANY, .n_arrangements = 1e9};
}

static void test_rank(void **state)
{
    assert_near(sh_shift_plan_get_rank(3.0), 1.0, 0.0, 0.0); /* 2 and 2 */
    assert_near(sh_shift_plan_get_rank(39.0), 1.0, 0.0, 0.0);
    assert_near(sh_shift_plan_get_rank(40.0), 2.0, 0.0, 0.0);
    assert_near(sh_shift_plan_get_rank(126.0), 6.0, 0.0, 0.0); /* 5 and 5 */
    assert_near(sh_shift_plan_get_rank(1e9), 250.0, 0.0, 0.0);
}

static void test_reach(void **state)
{
    const struct sh_shift_plan plain = {.level = 0.05};
    const struct sh_shift_plan apart = {
        .level = 0.05, .calibration_u = 3.0, .calibration_t = 2.5};
    assert_near(sh_shift_plan_get_reach(&plain, 2.1, 2.0), 4.2, 1e-12, 0.0);
    assert_near(sh_shift_plan_get_reach(&apart, 2.1, 2.0), hypot(4.2, 7.5), 1e-12, 0.0);
}

/* Known scatter: the normal law's 1.96 + 0.8416 standard uncertainties; the level's spread
 * (rank 250) is too small to move that by a hundredth. */
static void test_visible_where_all_is_known(void **state)
{
    const struct sh_shift_plan plain = {.level = 0.05};
    const struct sh_shift_plan strict = {.level = 0.01};
    const struct sh_shift_plan apart = {
        .level = 0.01, .calibration_u = 3.0, .calibration_t = 2.5};
    const struct sh_shift_trial made = get_known(2.0);
    assert_near(sh_shift_plan_get_visible(&plain, &made), 2.0 * (1.95996 + 0.84162), 0.0, 0.01);
    assert_near(sh_shift_plan_get_visible(&strict, &made), 2.0 * (2.57583 + 0.84162), 0.0,
                0.01);
    assert_near(sh_shift_plan_get_visible(&apart, &made),
                hypot(2.0 * 2.57583, 7.5) + 0.84162 * hypot(2.0, 3.0), 0.0, 0.01);
    const double visible = sh_shift_plan_get_visible(&strict, &made);
    assert_near(sh_shift_plan_get_chance(&strict, &made, &made, visible), 0.8, 2e-3, 0.0);
    assert_near(sh_shift_plan_get_chance(&strict, &made, &made, -visible), 0.8, 2e-3, 0.0);
}

/* The less is known of scatter and level, the larger a shift must be to be promised. */
static void test_visible_where_little_is_known(void **state)
{
    const struct sh_shift_plan plan = {.level = 0.01};
    double last = 0.0;
    const double n_arrangements[4] = {1e9, 462.0, 126.0, 35.0};
    for (size_t i = 0; i < 4; i++) {
        const struct sh_shift_trial made = {
            .u = 1.0, .freedom = 12.0 - 2.0 * (double)i, .n_arrangements = n_arrangements[i]};
        const double visible = sh_shift_plan_get_visible(&plan, &made);
        assert_true(visible > last);
        assert_near(sh_shift_plan_get_chance(&plan, &made, &made, visible), 0.8, 2e-3, 0.0);
        last = visible;
    }
}

static void test_needed(void **state)
{
    const struct sh_shift_trial made = get_known(1.0);
    struct sh_shift_plan plan = {.level = 0.05};
    assert_near(sh_shift_plan_get_needed(&plan, &made, 0.0, 1.0), 0.0, 0.0, 0.0);
    assert_near(sh_shift_plan_get_needed(&plan, &made, 1e-4, 1.0), 0.0, 0.0, 0.0);
    assert_near(sh_shift_plan_get_needed(&plan, &made, 50.0, 1.0), 4.0, 0.0, 0.0);
    const double six = sh_shift_plan_get_needed(&plan, &made, -2.0, 1.0);
    assert_true(six >= 5.0 && six <= 7.0); /* 6 by the noncentral t */
    plan.level = 0.005;
    assert_true(sh_shift_plan_get_needed(&plan, &made, 2.0, 1.0) > six);
    plan = (struct sh_shift_plan){.level = 0.05, .calibration_u = 0.6, .calibration_t = 1.96};
    assert_true(sh_shift_plan_get_needed(&plan, &made, 2.0, 1.0) > six);
    /* a scatter of which four sessions tell is not taken for known */
    plan = (struct sh_shift_plan){.level = 0.05};
    const struct sh_shift_trial few = {.u = 1.0, .freedom = 2.0, .n_arrangements = 1e9};
    assert_true(sh_shift_plan_get_needed(&plan, &few, -2.0, 1.0) > six);
}

/* The calibration's part and what it takes to see beyond it: on either side of it. */
static void test_hidden(void **state)
{
    const struct sh_shift_trial made = get_known(1.0);
    const struct sh_shift_plan plan = {
        .level = 0.05, .calibration_u = 1.0, .calibration_t = 2.5};
    const double least = 2.5 + 0.841621;
    assert_false(sh_shift_plan_is_possible(&plan, -least + 1e-4));
    assert_true(sh_shift_plan_is_possible(&plan, -least - 1e-4));
    assert_near(sh_shift_plan_get_needed(&plan, &made, least - 1e-4, 0.01), 0.0, 0.0, 0.0);
    assert_true(sh_shift_plan_get_needed(&plan, &made, least + 0.01, 0.01) >= 4.0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_rank),
        cmocka_unit_test(test_reach),
        cmocka_unit_test(test_visible_where_all_is_known),
        cmocka_unit_test(test_visible_where_little_is_known),
        cmocka_unit_test(test_needed),
        cmocka_unit_test(test_hidden),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
