/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/terminal_ascii.h"

#include "support/cmocka_all.h"

static void check(const char *string, const char *expected)
{
    struct sh_text text;
    sh_text_init(&text, 0);
    sh_terminal_ascii_put(&text, string);
    sh_text_puts(&text, "");
    assert_string_equal(text.data != NULL ? text.data : "", expected);
    sh_text_close(&text);
}

static void test_signs(void **state)
{
    check("3.61 ±0.02 s\n", "3.61 +-0.02 s\n");
    check("m/s² 2 × 3 20 °", "m/s2 2 x 3 20 deg");
    check("", "");
}

static void test_all_else(void **state)
{
    check("Zaunkönig ⠿│", "Zaunk?nig ??");
    check("鳥", "?");
    check("a\xFFz", "a?z");
    check("a\x80\x80z", "az"); /* bytes that go on from nothing */
    check("a\xE2\x94", "a?");  /* a character that breaks off */
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_signs),
        cmocka_unit_test(test_all_else),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
