/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/page_table.h"

#include <string.h>

#include "report/column.h"
#include "report/made.h"
#include "report/markup.h"
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
    markup_check_has(text.data, "No draw shows: reaction, ms (not worked out);");
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
    assert_int_equal(markup_count(text.data, "<table>"), (SH_COLUMN_COUNT + 7) / 8);
    assert_int_equal(markup_count(text.data, "<td>"), SH_COLUMN_COUNT);
    assert_null(strstr(text.data, "No draw shows"));
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
        cmocka_unit_test(test_many_columns_make_more_tables),
        cmocka_unit_test(test_no_draws_no_table),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
