/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "series/hold_survival.h"

#include <math.h>

#include "series/shot_rows.h"
#include "support/cmocka_all.h"
#include "support/near.h"

/* By hand: no let-down: shares .8 .6 .4 .2 0 after 1 .. 5 s; the median is 3. */
static void test_without_let_downs(void **state)
{
    struct sh_hold_survival_time times[] = {
        {3.0, true}, {1.0, true}, {5.0, true}, {2.0, true}, {4.0, true}};
    struct sh_hold_survival survival;
    assert_int_equal(sh_hold_survival_get(times, 5, &survival), SH_OK);
    assert_int_equal(survival.n_released, 5);
    assert_true(survival.has_median);
    assert_near(survival.median_s, 3.0, 0, 0);
}

/*
 * The trial of 6-mercaptopurine (Freireich et al. 1963; figures of the usual textbooks, from
 * memory): 21 patients, 9 events; the product-limit median is 23.
 */
static void test_a_known_trial(void **state)
{
    struct sh_hold_survival_time times[] = {
        {6, true},   {6, true},   {6, true},   {6, false}, {7, true},   {9, false},
        {10, true},  {10, false}, {11, false}, {13, true}, {16, true},  {17, false},
        {19, false}, {20, false}, {22, true},  {23, true}, {25, false}, {32, false},
        {32, false}, {34, false}, {35, false}};
    struct sh_hold_survival survival;
    assert_int_equal(sh_hold_survival_get(times, 21, &survival), SH_OK);
    assert_int_equal(survival.n_released, 9);
    assert_int_equal(survival.n_let_down, 12);
    assert_near(survival.median_s, 23.0, 0, 0);
    assert_true(survival.has_lo);
    assert_near(survival.lo_s, 13.0, 0, 0);
    assert_false(survival.has_hi);
}

/* Most let down: no median. A let-down as long as a release counts as later. */
static void test_no_median(void **state)
{
    struct sh_hold_survival_time times[] = {{2.0, false}, {2.0, true}, {2.0, false}};
    struct sh_hold_survival survival;
    assert_int_equal(sh_hold_survival_get(times, 3, &survival), SH_OK);
    assert_false(survival.has_median);
    assert_int_equal(sh_hold_survival_get(times, 0, &survival), SH_OK);
    assert_false(survival.has_median);
    times[1].hold_s = (double)INFINITY;
    assert_int_equal(sh_hold_survival_get(times, 3, &survival), SH_ERR_NOT_FINITE);
}

static void test_of_a_set(void **state)
{
    struct sh_consistency_set set = {0};
    struct sh_hold_survival survival;
    shot_rows_add(&set, 0, 0, 1, 2.0);
    shot_rows_add(&set, 0, 0, 0, 9.0)->is_let_down = true;
    shot_rows_add(&set, 0, 0, 2, 3.0);
    shot_rows_add(&set, 0, 0, 3, 4.0)->value[SH_CONSISTENCY_HOLD] =
        sh_quantity_unknown(SH_WHY_NOT_ASKED);
    assert_int_equal(sh_hold_survival_get_set(&set, &survival), SH_OK);
    assert_int_equal(survival.n_released, 2);
    assert_int_equal(survival.n_let_down, 1);
    assert_near(survival.median_s, 3.0, 0, 0);
    sh_consistency_set_close(&set);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_without_let_downs),
        cmocka_unit_test(test_a_known_trial),
        cmocka_unit_test(test_no_median),
        cmocka_unit_test(test_of_a_set),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
