/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sim/range.h"

#include <math.h>

#include "support/cmocka_all.h"

/* Both ends are inside; the first that is outside is named. */
static void test_check(void **state)
{
    struct sh_range range[] = {{"rate", 1.0, 1.0, 2.0}, {"gain", 5.0, 4.0, 5.0}};
    struct sh_error err = {0};
    assert_int_equal(sh_range_check(range, 2, &err), SH_OK);
    assert_int_equal(err.status, SH_OK);
    range[1].value = 5.001;
    assert_int_equal(sh_range_check(range, 1, &err), SH_OK);
    assert_int_equal(sh_range_check(range, 2, &err), SH_ERR_ARGUMENT);
    assert_string_equal(err.where, "gain");
    assert_string_equal(err.what, "5.001 is not within 4 to 5");
    range[0].value = 0.999;
    err = (struct sh_error){0};
    assert_int_equal(sh_range_check(range, 2, &err), SH_ERR_ARGUMENT);
    assert_string_equal(err.where, "rate");
    range[0].value = (double)NAN;
    assert_int_equal(sh_range_check(range, 2, NULL), SH_ERR_ARGUMENT);
    assert_int_equal(sh_range_check(range, 0, NULL), SH_OK);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_check)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
