/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/percent.h"

#include "support/cmocka_all.h"

static void test_names(void **state)
{
    static const struct {
        const char *name;
        const char *file;
    } cases[] = {
        {"wren", "wren"},
        {"", ""},
        {"a b", "a%20b"},
        {"../x", "%2E.%2Fx"},
        {"x.y-z_9", "x.y-z_9"},
        {".", "%2E"},
        {"100%", "100%25"},
        {"\xC3\xA9", "%C3%A9"},
        {"tab\tnl\n", "tab%09nl%0A"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        char out[32];
        assert_true(sh_percent_encode(cases[i].name, out, sizeof out));
        assert_string_equal(out, cases[i].file);
    }
}

static void test_room(void **state)
{
    char out[6];
    assert_true(sh_percent_encode("wrens", out, 6));
    assert_false(sh_percent_encode("wrens", out, 5));
    assert_string_equal(out, "");
    assert_true(sh_percent_encode("a b", out, 6));
    assert_false(sh_percent_encode("ab c", out, 6));
    assert_string_equal(out, "");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_names),
        cmocka_unit_test(test_room),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
