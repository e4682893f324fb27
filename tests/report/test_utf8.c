/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/utf8.h"

#include <string.h>

#include "support/cmocka_all.h"

#define BAD "\xEF\xBF\xBD"

static void check_put(const char *string, enum sh_utf8_control control, const char *expected)
{
    struct sh_text text;
    sh_text_init(&text, 0);
    sh_utf8_put(&text, string, control);
    assert_int_equal(text.status, SH_OK);
    assert_string_equal(text.data, expected);
    sh_text_close(&text);
}

static void test_good_text_stays(void **state)
{
    const char *text = "wren \xC3\xA9\xE2\x80\x93\xF0\x9F\x8E\xAF m/s\xC2\xB2";
    check_put(text, SH_UTF8_KEEP_CONTROL, text);
    check_put(text, SH_UTF8_MASK_CONTROL, text);
}

static void test_bad_bytes_are_replaced(void **state)
{
    check_put("a\xFFz", SH_UTF8_KEEP_CONTROL, "a" BAD "z");
    check_put("a\xC3", SH_UTF8_KEEP_CONTROL, "a" BAD);
    check_put("\xC0\xAF", SH_UTF8_KEEP_CONTROL, BAD BAD);                 /* overlong */
    check_put("\xED\xA0\x80", SH_UTF8_KEEP_CONTROL, BAD BAD BAD);         /* surrogate */
    check_put("\xF4\x90\x80\x80", SH_UTF8_KEEP_CONTROL, BAD BAD BAD BAD); /* over U+10FFFF */
}

static void test_controls(void **state)
{
    check_put("a\x1B[2Jb\n", SH_UTF8_KEEP_CONTROL, "a\x1B[2Jb\n");
    check_put("a\x1B[2Jb\n", SH_UTF8_MASK_CONTROL, "a" BAD "[2Jb" BAD);
    check_put("\x7F\xC2\x9B"
              "1",
              SH_UTF8_MASK_CONTROL, BAD BAD "1");
    check_put(" \xC2\xA0", SH_UTF8_MASK_CONTROL, " \xC2\xA0");
}

static void test_part_of_a_string(void **state)
{
    struct sh_text text;
    sh_text_init(&text, 0);
    sh_utf8_put_bytes(&text, "abc", 2, SH_UTF8_KEEP_CONTROL);
    sh_utf8_put_bytes(&text, "\xC3\xA9", 1, SH_UTF8_KEEP_CONTROL);
    assert_string_equal(text.data, "ab" BAD);
    sh_text_close(&text);
}

static void test_columns(void **state)
{
    assert_int_equal(sh_utf8_get_columns("wren", 4), 4);
    assert_int_equal(sh_utf8_get_columns("wren", 2), 2);
    assert_int_equal(sh_utf8_get_columns("m/s\xC2\xB2", 5), 4);
    assert_int_equal(sh_utf8_get_columns("\xE9\xB3\xA5", 3), 2); /* a wide ideograph */
    assert_int_equal(sh_utf8_get_columns("e\xCC\x81", 3), 1);    /* a combining accent */
    assert_int_equal(sh_utf8_get_columns("\xFF\xFF", 2), 2);
    assert_int_equal(sh_utf8_get_columns("", 0), 0);
}

static void test_validity(void **state)
{
    static const char *const good[] = {"", "wren", "t\xC3\xA4r\n", "\xF0\x9F\x8E\xAF"};
    static const char *const bad[] = {"\xFF", "t\xC3", "\xC0\xAF", "\xED\xA0\x80", "a\x80z"};
    for (size_t i = 0; i < sizeof good / sizeof good[0]; i++) {
        assert_true(sh_utf8_is_valid(good[i]));
    }
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        assert_false(sh_utf8_is_valid(bad[i]));
    }
}

static void test_a_full_text_says_so(void **state)
{
    struct sh_text text;
    sh_text_init(&text, 4);
    sh_utf8_put(&text, "longer than four", SH_UTF8_KEEP_CONTROL);
    assert_int_equal(text.status, SH_ERR_FULL);
    sh_text_close(&text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_good_text_stays),
        cmocka_unit_test(test_bad_bytes_are_replaced),
        cmocka_unit_test(test_controls),
        cmocka_unit_test(test_part_of_a_string),
        cmocka_unit_test(test_columns),
        cmocka_unit_test(test_validity),
        cmocka_unit_test(test_a_full_text_says_so),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
