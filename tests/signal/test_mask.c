/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/mask.h"

#include <math.h>

#include "support/cmocka_all.h"
#include "support/near.h"

static void test_compact(void **state)
{
    double x[6] = {1.0, (double)NAN, 3.0, 4.0, (double)NAN, 6.0};
    const bool present[6] = {true, false, true, true, false, true};
    double kept[6];
    assert_int_equal(sh_mask_compact(x, present, 6, kept), 4);
    assert_near(kept[1], 3.0, 0.0, 0.0);
    assert_near(kept[3], 6.0, 0.0, 0.0);
    assert_int_equal(sh_mask_compact(x, present, 6, x), 4); /* in place */
    assert_near(x[2], 4.0, 0.0, 0.0);
    assert_int_equal(sh_mask_compact(kept, NULL, 4, kept), 4);
    assert_int_equal(sh_mask_compact(kept, NULL, 0, kept), 0);
}

static void test_stretches(void **state)
{
    const bool present[8] = {false, true, true, false, false, true, true, true};
    size_t first = 99;
    assert_int_equal(sh_mask_find_stretch(present, 8, 0, &first), 2);
    assert_int_equal(first, 1);
    assert_int_equal(sh_mask_find_stretch(present, 8, 2, &first), 1);
    assert_int_equal(first, 2);
    assert_int_equal(sh_mask_find_stretch(present, 8, 3, &first), 3);
    assert_int_equal(first, 5);
    assert_int_equal(sh_mask_find_stretch(present, 5, 3, &first), 0);
    assert_int_equal(first, 5);
    assert_int_equal(sh_mask_find_stretch(present, 8, 8, &first), 0);
    assert_int_equal(sh_mask_find_stretch(NULL, 8, 3, &first), 5);
    assert_int_equal(first, 3);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_compact),
        cmocka_unit_test(test_stretches),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
