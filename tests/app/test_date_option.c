/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/date_option.h"

#include <string.h>

#include "base/day.h"
#include "support/cmocka_all.h"

static void test_days(void **state)
{
    struct sh_error err = {0};
    int day = 0;
    int wanted = 0;
    assert_true(sh_day_parse("2026-05-14", &wanted));
    assert_int_equal(sh_date_option_parse("x", "2026-05-14", &day, &err), SH_OK);
    assert_int_equal(day, wanted);
    int before = sh_date_option_get_today();
    assert_int_equal(sh_date_option_parse("x", "today", &day, &err), SH_OK);
    assert_true(day >= before && day <= sh_date_option_get_today());
    assert_int_equal(sh_date_option_parse("x", "yesterday", &day, &err), SH_OK);
    assert_true(day >= before - 1 && day <= sh_date_option_get_today() - 1);
}

static void test_what_is_none(void **state)
{
    static const char *const texts[] = {"", "tomorrow", "2026-5-4", "yestreen", "2026-02-29"};
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++) {
        struct sh_error err = {0};
        int day = 77;
        assert_int_equal(sh_date_option_parse("load --rest", texts[i], &day, &err),
                         SH_ERR_ARGUMENT);
        assert_int_equal(day, 77);
        assert_string_equal(err.where, "load --rest");
        assert_non_null(strstr(err.todo, "2026-05-14"));
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_days),
        cmocka_unit_test(test_what_is_none),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
