/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/hold_plot.h"

#include <math.h>
#include <string.h>

#include "report/markup.h"
#include "support/cmocka_all.h"

static const double limits_s[2] = {1.0, 6.0};

static void add(struct sh_analysis *analysis, double hold_s)
{
    struct sh_shot_record record;
    memset(&record, 0, sizeof record);
    record.shot.n = (unsigned)analysis->n_shots + 1;
    record.measures.quantity[SH_MEASURE_HOLD_TIME_FIRST] = sh_quantity_known(hold_s, 0.02);
    assert_int_equal(sh_analysis_add(analysis, &record), SH_OK);
}

static void draw(struct sh_text *text, struct sh_analysis *analysis, const double limits[2])
{
    sh_text_init(text, 0);
    sh_hold_plot_draw(text, analysis, limits);
    assert_int_equal(text->status, SH_OK);
    sh_analysis_close(analysis);
}

static void test_nothing_known_nothing_drawn(void **state)
{
    struct sh_analysis analysis;
    struct sh_text text;
    sh_analysis_init(&analysis, "a", "rook");
    draw(&text, &analysis, limits_s);
    assert_int_equal(text.n_bytes, 0);
    sh_text_close(&text);
}

static void test_a_mark_and_an_interval_each(void **state)
{
    struct sh_analysis analysis;
    struct sh_text text;
    sh_analysis_init(&analysis, "a", "rook");
    add(&analysis, 2.0);
    add(&analysis, 3.0);
    add(&analysis, 6.5);
    draw(&text, &analysis, limits_s);
    markup_check(text.data);
    assert_int_equal(markup_count(text.data, "mark filled"), 3);
    assert_int_equal(markup_count(text.data, "class=\"doubt\""), 3);
    assert_int_equal(markup_count(text.data, "class=\"limit\""), 2);
    markup_check_has(text.data, "long: over 6 s");
    markup_check_has(text.data, "short: under 1 s");
    sh_text_close(&text);
}

static void test_a_let_down_is_hollow(void **state)
{
    struct sh_analysis analysis;
    struct sh_text text;
    struct sh_shot_record record;
    memset(&record, 0, sizeof record);
    record.shot.n = 1;
    record.shot.kind = SH_SHOT_LET_DOWN;
    record.shot.event_s[SH_EVENT_FULL_DRAW] = sh_quantity_known(10.0, 0.03);
    record.shot.event_s[SH_EVENT_LET_DOWN] = sh_quantity_known(14.0, 0.04);
    sh_analysis_init(&analysis, "a", "rook");
    assert_int_equal(sh_analysis_add(&analysis, &record), SH_OK);
    draw(&text, &analysis, limits_s);
    markup_check(text.data);
    assert_int_equal(markup_count(text.data, "mark hollow"), 1);
    assert_int_equal(markup_count(text.data, "mark filled"), 0);
    /* a scale of 0 to 5 s (4 s and its interval), 180 px high, top at 24: 4 s lies at 60 px */
    markup_check_has(text.data, "x=\"50%\" y=\"60\"");
    sh_text_close(&text);
}

static void test_a_very_long_hold_is_written_out(void **state)
{
    struct sh_analysis analysis;
    struct sh_text text;
    sh_analysis_init(&analysis, "a", "rook");
    add(&analysis, 2.0);
    add(&analysis, 75.25);
    draw(&text, &analysis, limits_s);
    markup_check_has(text.data, ">75.2 s</text>");
    assert_int_equal(markup_count(text.data, "class=\"doubt\""), 1);
    sh_text_close(&text);
}

static void test_limits_may_be_missing(void **state)
{
    const double none[2] = {(double)NAN, (double)NAN};
    struct sh_analysis analysis;
    struct sh_text text;
    sh_analysis_init(&analysis, "a", "rook");
    add(&analysis, 2.0);
    draw(&text, &analysis, none);
    markup_check(text.data);
    assert_int_equal(markup_count(text.data, "class=\"limit\""), 0);
    sh_text_close(&text);
}

static void test_few_numbers_for_many_draws(void **state)
{
    struct sh_analysis analysis;
    struct sh_text text;
    sh_analysis_init(&analysis, "a", "rook");
    for (int i = 0; i < 300; i++) {
        add(&analysis, 2.0);
    }
    draw(&text, &analysis, limits_s);
    markup_check_has(text.data, ">271</text>");
    assert_int_equal(markup_count(text.data, ">272</text>"), 0);
    assert_int_equal(markup_count(text.data, "mark filled"), 300);
    sh_text_close(&text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_nothing_known_nothing_drawn),
        cmocka_unit_test(test_a_mark_and_an_interval_each),
        cmocka_unit_test(test_a_let_down_is_hollow),
        cmocka_unit_test(test_a_very_long_hold_is_written_out),
        cmocka_unit_test(test_limits_may_be_missing),
        cmocka_unit_test(test_few_numbers_for_many_draws),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
