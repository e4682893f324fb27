/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/paragraph.h"

#include "support/cmocka_all.h"

static void check(size_t n_columns, const char *string, const char *expected)
{
    struct sh_text text;
    struct sh_paragraph paragraph;
    sh_text_init(&text, 0);
    sh_paragraph_init(&paragraph, &text, n_columns, "- ", 2);
    sh_paragraph_put(&paragraph, string);
    sh_paragraph_end(&paragraph);
    assert_string_equal(text.data, expected);
    sh_text_close(&text);
}

static void test_breaks_at_the_width(void **state)
{
    check(12, "one two three", "- one two\n  three\n");
    check(9, "one two three", "- one two\n  three\n");
    check(8, "one two three", "- one\n  two\n  three\n");
    check(80, "  one   two ", "- one two\n");
    check(80, "", "- \n");
}

static void test_a_wide_word_stands_alone(void **state)
{
    check(8, "a recording's b", "- a\n  recording's\n  b\n");
}

static void test_counts_columns_not_bytes(void **state)
{
    check(9,
          "m/s\xC2\xB2 \xC2\xB1"
          "2",
          "- m/s\xC2\xB2 \xC2\xB1"
          "2\n");
    check(8, "\xE9\xB3\xA5 \xE9\xB3\xA5 \xE9\xB3\xA5",
          "- \xE9\xB3\xA5 \xE9\xB3\xA5\n  \xE9\xB3\xA5\n");
}

static void test_masks_controls(void **state)
{
    check(80, "wren\x1B[31m", "- wren\xEF\xBF\xBD[31m\n");
}

static void test_goes_on_over_strings(void **state)
{
    struct sh_text text;
    struct sh_paragraph paragraph;
    sh_text_init(&text, 0);
    sh_paragraph_init(&paragraph, &text, 10, "", 0);
    sh_paragraph_put(&paragraph, "one two");
    sh_paragraph_put(&paragraph, "six");
    sh_paragraph_end(&paragraph);
    assert_string_equal(text.data, "one two\nsix\n");
    sh_text_close(&text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_breaks_at_the_width),
        cmocka_unit_test(test_a_wide_word_stands_alone),
        cmocka_unit_test(test_counts_columns_not_bytes),
        cmocka_unit_test(test_masks_controls),
        cmocka_unit_test(test_goes_on_over_strings),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
