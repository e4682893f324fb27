/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "series/load_sum.h"

#include "support/cmocka_all.h"
#include "support/near.h"

static void test_values_and_uncertainties_add_up(void **state)
{
    struct sh_load_sum sum = {0};
    const struct sh_quantity a = sh_quantity_known(3.0, 0.3);
    const struct sh_quantity b = sh_quantity_known(4.0, 0.4);
    struct sh_quantity empty = sh_load_sum_get(&sum);
    assert_true(sh_quantity_is_known(&empty));
    assert_near(empty.value, 0.0, 0, 0);
    sh_load_sum_add(&sum, &a);
    sh_load_sum_add(&sum, &b);
    struct sh_quantity total = sh_load_sum_get(&sum);
    assert_near(total.value, 7.0, 0, 1e-15);
    assert_near(total.u, 0.7, 0, 1e-15); /* not 0.5: the errors go together */
}

static void test_a_part_unknown_makes_it_unknown(void **state)
{
    struct sh_load_sum sum = {0};
    const struct sh_quantity a = sh_quantity_known(3.0, 0.3);
    const struct sh_quantity lost = sh_quantity_unknown(SH_WHY_GAP);
    const struct sh_quantity clipped = sh_quantity_unknown(SH_WHY_CLIPPED);
    sh_load_sum_add(&sum, &a);
    sh_load_sum_add(&sum, &lost);
    sh_load_sum_add(&sum, &clipped);
    struct sh_quantity total = sh_load_sum_get(&sum);
    assert_false(sh_quantity_is_known(&total));
    assert_int_equal(total.why, SH_WHY_GAP);
    assert_near(sum.value, 3.0, 0, 0); /* the lower bound is there */
    assert_int_equal(sum.n_known, 1);
    assert_int_equal(sum.n_unknown, 2);
}

static void test_sums_of_sums(void **state)
{
    struct sh_load_sum first = {0};
    struct sh_load_sum second = {0};
    const struct sh_quantity a = sh_quantity_known(3.0, 0.3);
    const struct sh_quantity lost = sh_quantity_unknown(SH_WHY_GAP);
    sh_load_sum_add(&first, &a);
    sh_load_sum_add(&second, &a);
    sh_load_sum_add(&second, &lost);
    sh_load_sum_add_sum(&first, &second);
    struct sh_quantity total = sh_load_sum_get(&first);
    assert_int_equal(total.why, SH_WHY_GAP);
    assert_near(first.value, 6.0, 0, 0);
    assert_near(first.u, 0.6, 0, 0);
    assert_int_equal(first.n_known, 2);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_values_and_uncertainties_add_up),
        cmocka_unit_test(test_a_part_unknown_makes_it_unknown),
        cmocka_unit_test(test_sums_of_sums),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
