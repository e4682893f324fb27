/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "measure/finger_excess.h"

#include <math.h>

#include "support/cmocka_all.h"
#include "support/near.h"

/* 100 N that are 5.5 % too much, known to 1 N besides: 94.8 N, 1.61 N less at the least. */
static void test_a_force(void **state)
{
    struct sh_measures measures = {0};
    struct sh_quantity *force = &measures.quantity[SH_MEASURE_HOLD_FORCE_FIRST];
    *force = sh_quantity_known(100.0, hypot(5.5, 1.0));
    sh_finger_excess_place(&measures);
    assert_near(force->value, 100.0, 0.0, 0.0);
    assert_near(force->u, hypot(5.5, 1.0), 1e-12, 0.0);
    assert_true(force->has_interval);
    assert_near(force->lo, 100.0 / 1.055 - 0.82 * 1.95996, 1e-4, 0.0);
    assert_near(force->hi, 100.0, 0.0, 0.0);
}

/* What reaches down to nothing still does; a rate may be negative; times stay as they are. */
static void test_others(void **state)
{
    struct sh_measures measures = {0};
    struct sh_quantity *creep = &measures.quantity[SH_MEASURE_CREEP_FORCE_FIRST];
    struct sh_quantity *rate = &measures.quantity[SH_MEASURE_CREEP_RATE_FIRST];
    struct sh_quantity *hold = &measures.quantity[SH_MEASURE_HOLD_TIME_FIRST];
    struct sh_quantity *collapse = &measures.quantity[SH_MEASURE_COLLAPSE_FIRST];
    *creep = sh_quantity_known(0.02, 0.01);
    creep->has_interval = true;
    creep->lo = 0.0;
    creep->hi = 0.04;
    *rate = sh_quantity_known(-2.0, 0.3);
    *hold = sh_quantity_known(3.0, 0.01);
    *collapse = sh_quantity_unknown(SH_WHY_NOT_SEEN);
    sh_finger_excess_place(&measures);
    assert_near(creep->lo, 0.0, 0.0, 0.0);
    assert_true(creep->hi < 0.04 && creep->hi > 0.035);
    assert_near(0.5 * (rate->lo + rate->hi), -2.0 / 1.055, 1e-9, 0.0);
    assert_false(hold->has_interval);
    assert_false(sh_quantity_is_known(collapse));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_a_force),
        cmocka_unit_test(test_others),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
