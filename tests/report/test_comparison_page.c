/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/comparison_page.h"

#include <string.h>

#include "report/comparison_plot.h"
#include "report/load_words.h"
#include "report/made_comparison.h"
#include "report/markup.h"
#include "report/table_check.h"
#include "support/cmocka_all.h"

static void open_page(struct made_comparison *made, struct sh_text *text)
{
    sh_text_init(text, 0);
    assert_int_equal(sh_comparison_page_write(&made->sheet, text), SH_OK);
    markup_check(text->data);
}

/* All cautions stand on every page; those of loads at its top where fingers were measured. */
static void test_cautions(void **state)
{
    struct made_comparison made;
    struct sh_text text;
    made_comparison_open(&made);
    for (size_t k = 0; k < 2; k++) {
        open_page(&made, &text);
        for (size_t i = 0; sh_load_words_get_caution(i) != NULL; i++) {
            struct sh_text caution;
            sh_text_init(&caution, 0);
            sh_text_put_markup(&caution, sh_load_words_get_caution(i));
            assert_int_equal(markup_count(text.data, caution.data), i < 2 ? 1 + k : 1);
            sh_text_close(&caution);
        }
        sh_text_close(&text);
        made_comparison_add_change(&made);
    }
}

static void test_what_it_says(void **state)
{
    struct made_comparison made;
    struct sh_text text;
    made_comparison_open(&made);
    made_comparison_add_change(&made);
    open_page(&made, &text);
    markup_check_has(text.data, "default-src 'none'");
    markup_check_has(text.data, "From tab thin to tab thick.");
    markup_check_has(text.data, "ring share: 2.1 % (1.2 to 3.0) less with thick than with");
    /* t of 10 degrees 2.228139 (from a table, from memory) x 0.72 % / sqrt(6) = 0.65 % */
    markup_check_has(text.data, "<span>22.0</span> <span>\xC2\xB1"
                                "0.7 %</span></td>");
    markup_check_has(text.data,
                     "<span>19.9</span> <span>\xC2\xB1"
                     "0.7 %</span></td><td data-label=\"change\">-2.1 %</td>"
                     "<td class=\"two\" data-label=\"95 % limits\"><span>-3.0 to</span> "
                     "<span>-1.2 %</span></td>"
                     "<td data-label=\"p, all figures allowed for\">0.010</td>");
    markup_check_has(text.data, "<td data-label=\"would have been seen\">0.42 s</td>"
                                "<td data-label=\"needed a side\">40 sessions</td>");
    markup_check_has(text.data, "from 6 and 6 recordings");
    sh_text_close(&text);
}

static void test_units_and_uncertainties(void **state)
{
    static const char *const plain[] = {"p, all figures allowed for", "needed a side", NULL};
    static const char *const worked_out[] = {"two sessions differ by", "would have been seen",
                                             "change", NULL}; /* its limits stand beside it */
    struct made_comparison made;
    struct sh_text text;
    made_comparison_open(&made);
    made_comparison_add_change(&made);
    open_page(&made, &text);
    assert_int_equal(table_check(text.data, plain, worked_out), 2 * 6);
    sh_text_close(&text);
}

/* What no number of sessions would show, and what none of this many could. */
static void test_bounds(void **state)
{
    struct made_comparison made;
    struct sh_text text;
    made_comparison_open(&made);
    struct sh_before_after *hold = &made.comparison.figure[0];
    hold->n_needed = 0.0;
    hold->p_of_all = 0.0004;
    hold->way = SH_BEFORE_AFTER_ENDS;
    open_page(&made, &text);
    markup_check_has(text.data, ">under 0.001</td>"
                                "<td data-label=\"two sessions differ by\">unknown</td>");
    markup_check_has(text.data, "<td data-label=\"needed a side\">over 1000 ends</td>");
    sh_text_close(&text);
    hold->is_hidden = true;
    hold->visible = 0.0;
    open_page(&made, &text);
    markup_check_has(text.data, "<td data-label=\"would have been seen\">none</td>"
                                "<td data-label=\"needed a side\">no number would do</td>");
    sh_text_close(&text);
}

/* Names are text, whatever they hold. */
static void test_names(void **state)
{
    struct made_comparison made;
    struct sh_text text;
    made_comparison_open(&made);
    made.sheet.athlete = "w<ren";
    made.sheet.side[1] = "thick & \x1b[31mred\xff";
    open_page(&made, &text);
    markup_check_has(text.data, "w&lt;ren");
    markup_check_has(text.data, "thick &amp; \xEF\xBF\xBD[31mred\xEF\xBF\xBD");
    assert_null(strchr(text.data, '\x1b'));
    sh_text_close(&text);
}

/* Without a known figure there is neither drawing nor table, and it says why. */
static void test_nothing_known(void **state)
{
    struct made_comparison made;
    struct sh_text text;
    made_comparison_open(&made);
    made.comparison.figure[0].why = SH_BEFORE_AFTER_IN_ORDER;
    open_page(&made, &text);
    assert_null(strstr(text.data, "<table"));
    assert_null(strstr(text.data, "<figure"));
    markup_check_has(text.data, "cannot be told apart");
    sh_text_close(&text);
}

/* A disc for a change that stands, a square for none; drawings of fingers and the rest. */
static void test_plot(void **state)
{
    struct made_comparison made;
    struct sh_text text;
    made_comparison_open(&made);
    sh_text_init(&text, 0);
    sh_comparison_plot_draw(&text, &made.sheet, true);
    assert_int_equal(text.n_bytes, 0);
    sh_comparison_plot_draw(&text, &made.sheet, false);
    markup_check(text.data);
    assert_int_equal(markup_count(text.data, "mark hollow"), 1);
    markup_check_has(text.data, "-0.10 s (-0.40 to +0.20)");
    sh_text_reset(&text);
    made_comparison_add_change(&made);
    sh_comparison_plot_draw(&text, &made.sheet, true);
    assert_int_equal(markup_count(text.data, "mark filled"), 1);
    assert_int_equal(markup_count(text.data, "mark hollow"), 0);
    sh_text_close(&text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_cautions),
        cmocka_unit_test(test_what_it_says),
        cmocka_unit_test(test_units_and_uncertainties),
        cmocka_unit_test(test_bounds),
        cmocka_unit_test(test_names),
        cmocka_unit_test(test_plot),
        cmocka_unit_test(test_nothing_known),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
