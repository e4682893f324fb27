/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "recording/mark.h"

#include "support/cmocka_all.h"

static void test_names_lead_back(void **state)
{
    for (int i = SH_MARK_CLOCK; i < SH_MARK_OTHER; i++) {
        const char *name = sh_mark_kind_name((enum sh_mark_kind)i);
        assert_true(name[0] != '\0');
        assert_int_equal(sh_mark_kind_find(name), i);
    }
    assert_string_equal(sh_mark_kind_name(SH_MARK_CLOCK_STOP), "clock-stop");
}

static void test_unknown_names_are_other(void **state)
{
    assert_int_equal(sh_mark_kind_find("whistle"), SH_MARK_OTHER);
    assert_int_equal(sh_mark_kind_find("Clock"), SH_MARK_OTHER);
    assert_int_equal(sh_mark_kind_find(""), SH_MARK_OTHER);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_names_lead_back),
        cmocka_unit_test(test_unknown_names_are_other),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
