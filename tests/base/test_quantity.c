/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/quantity.h"

#include "support/cmocka_all.h"
#include "support/near.h"

static void test_zero_is_unknown(void **state)
{
    struct sh_quantity zero = {0};
    assert_false(sh_quantity_is_known(&zero));
    assert_string_equal(sh_quantity_why_text(zero.why), "not worked out");
    struct sh_quantity gap = sh_quantity_unknown(SH_WHY_GAP);
    assert_false(sh_quantity_is_known(&gap));
    assert_string_equal(sh_quantity_why_text(gap.why), "samples were lost");
    assert_string_equal(sh_quantity_why_text((enum sh_why)99), "unknown");
}

static void test_interval(void **state)
{
    struct sh_quantity force = sh_quantity_known(10.0, 0.5);
    double lo = 0.0;
    double hi = 0.0;
    sh_quantity_interval(&force, &lo, &hi);
    assert_near(lo, 10.0 - 0.979981992270027, 1e-12, 0.0);
    assert_near(hi, 10.0 + 0.979981992270027, 1e-12, 0.0);
    force.has_interval = true;
    force.lo = 9.9;
    force.hi = 12.0;
    sh_quantity_interval(&force, &lo, &hi);
    assert_near(lo, 9.9, 0.0, 0.0);
    assert_near(hi, 12.0, 0.0, 0.0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_zero_is_unknown),
        cmocka_unit_test(test_interval),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
