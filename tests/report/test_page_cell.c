/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/page_cell.h"

#include <stdio.h>
#include <string.h>

#include "support/cmocka_all.h"

#define PM "\xC2\xB1"

static void check(const char *figure, const char *expected)
{
    struct sh_text text;
    sh_text_init(&text, 0);
    sh_page_cell_put(&text, NULL, figure);
    assert_string_equal(text.data, expected);
    sh_text_close(&text);
}

static void test_where_a_line_may_end(void **state)
{
    check("8550 " PM "168 N s",
          "<td class=\"two\"><span>8550</span> <span>" PM "168 N s</span></td>");
    check("at least 31 " PM "2 N",
          "<td class=\"two\"><span>at least 31</span> <span>" PM "2 N</span></td>");
    check("-0.80 to +1.25 s",
          "<td class=\"two\"><span>-0.80 to</span> <span>+1.25 s</span></td>");
}

static void test_one_piece(void **state)
{
    check("unknown", "<td>unknown</td>");
    check("2.5 N s", "<td>2.5 N s</td>");
    check("", "<td></td>");
    check("a < b", "<td>a &lt; b</td>");
}

/* What is too long to be parted stands as it is. */
static void test_long(void **state)
{
    char figure[300];
    char expected[320];
    memset(figure, '7', sizeof figure);
    memcpy(figure + 127, " " PM "1", 5);
    check(figure, "<td class=\"two\"><span>"
                  "7777777777777777777777777777777777777777777777777777777777777777"
                  "777777777777777777777777777777777777777777777777777777777777777"
                  "</span> <span>" PM "1</span></td>");
    memset(figure + 127, '7', 4);
    memcpy(figure + 128, " " PM "1", 5);
    (void)snprintf(expected, sizeof expected, "<td>%s</td>", figure);
    check(figure, expected);
}

/* The column's name, for screens on which there are no columns. */
static void test_label(void **state)
{
    struct sh_text text;
    sh_text_init(&text, 0);
    sh_page_cell_put(&text, "tab \"thin\"", "2 " PM "1 N");
    sh_page_cell_put(&text, "change", "none");
    assert_string_equal(text.data,
                        "<td class=\"two\" data-label=\"tab &quot;thin&quot;\"><span>2</span> "
                        "<span>" PM "1 N</span></td><td data-label=\"change\">none</td>");
    sh_text_close(&text);
}

/* A text that takes no more says so. */
static void test_full(void **state)
{
    struct sh_text text;
    sh_text_init(&text, 8);
    sh_page_cell_put(&text, NULL, "8550 " PM "168 N s");
    assert_int_not_equal(text.status, SH_OK);
    sh_text_close(&text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_where_a_line_may_end),
        cmocka_unit_test(test_one_piece),
        cmocka_unit_test(test_long),
        cmocka_unit_test(test_label),
        cmocka_unit_test(test_full),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
