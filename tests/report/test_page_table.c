/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/page_table.h"

#include <string.h>

#include "report/column.h"
#include "report/made.h"
#include "report/markup.h"
#include "report/table_check.h"
#include "support/cmocka_all.h"

static void test_rows_and_columns(void **state)
{
    struct sh_analysis analysis;
    struct sh_text text;
    made_analysis(&analysis);
    sh_text_init(&text, 0);
    sh_page_table_write(&text, &analysis, 1);
    markup_check(text.data);
    /* scores and seven known columns in one table of a head and three draws */
    assert_int_equal(markup_count(text.data, "<table>"), 1);
    assert_int_equal(markup_count(text.data, "<th scope=\"col\">"), 9);
    assert_int_equal(markup_count(text.data, "<td>"), 3 * 8);
    markup_check_has(text.data, "<td>3.607 \xC2\xB1"
                                "0.020</td>");
    markup_check_has(text.data, "<td>over 450.0</td>");
    markup_check_has(text.data, "1</a></th><td>9</td>");
    markup_check_has(text.data, "let-down</th><td>-</td>");
    markup_check_has(text.data, "<a href=\"#draw-1-2\">2</a> let-down</th>");
    markup_check_has(text.data, "Unknown in every draw (not worked out): reaction (ms), ");
    assert_int_equal(markup_count(text.data, "Unknown in every draw ("), 1); /* a reason once */
    sh_text_close(&text);
    sh_analysis_close(&analysis);
}

/* No row of cells is wider than what a sheet of paper takes, with two blanks between cells. */
static void check_widths(const char *page)
{
    size_t n_rows = 0;
    for (const char *at = strstr(page, "<tr><th scope=\"row\""); at != NULL;
         at = strstr(at + 1, "<tr><th scope=\"row\"")) {
        size_t width = 11;
        const char *end = strstr(at, "</tr>");
        for (const char *cell = strstr(at, "<td>"); cell != NULL && cell < end;
             cell = strstr(cell + 1, "<td>")) {
            width += 2 + (size_t)(strstr(cell, "</td>") - cell - 4);
        }
        assert_in_range(width, 13, 130 + 12); /* bytes: a plus-minus has two */
        n_rows++;
    }
    assert_true(n_rows > 0);
}

static void test_units_and_uncertainties(void **state)
{
    static const char *const plain[] = {"score", NULL};
    static const char *const none[] = {NULL};
    struct sh_analysis analysis;
    struct sh_text text;
    made_analysis(&analysis);
    sh_text_init(&text, 0);
    sh_page_table_write(&text, &analysis, 1);
    assert_int_equal(table_check(text.data, plain, none), 7);
    sh_text_close(&text);
    sh_analysis_close(&analysis);
}

static void test_many_columns_make_more_tables(void **state)
{
    static struct sh_shot_record record;
    struct sh_analysis analysis;
    struct sh_text text;
    sh_analysis_init(&analysis, "a", "rook");
    for (size_t i = 0; i < SH_MEASURE_PLACES; i++) {
        record.measures.quantity[i] = sh_quantity_known(1.0, 0.1);
    }
    assert_int_equal(sh_analysis_add(&analysis, &record), SH_OK);
    sh_text_init(&text, 0);
    sh_page_table_write(&text, &analysis, 1);
    markup_check(text.data);
    assert_true(markup_count(text.data, "<table>") > 2);
    const size_t n_tables = markup_count(text.data, "<table>");
    sh_page_table_write(&text, &analysis, 2); /* each region has its own name */
    assert_int_equal(markup_count(text.data, ", recording 2\"><table>"), n_tables);
    sh_text_reset(&text);
    sh_page_table_write(&text, &analysis, 1);
    assert_int_equal(markup_count(text.data, "<td>"), SH_COLUMN_COUNT);
    check_widths(text.data);
    assert_null(strstr(text.data, "Unknown in every draw"));
    sh_text_close(&text);
    sh_analysis_close(&analysis);
}

static void test_no_draws_no_table(void **state)
{
    struct sh_analysis analysis;
    struct sh_text text;
    sh_analysis_init(&analysis, "a", "rook");
    sh_text_init(&text, 0);
    sh_page_table_write(&text, &analysis, 1);
    assert_int_equal(text.n_bytes, 0);
    sh_analysis_close(&analysis);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_rows_and_columns),
        cmocka_unit_test(test_units_and_uncertainties),
        cmocka_unit_test(test_many_columns_make_more_tables),
        cmocka_unit_test(test_no_draws_no_table),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
