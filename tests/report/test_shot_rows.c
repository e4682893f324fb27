/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/shot_rows.h"

#include <string.h>

#include "report/made.h"
#include "report/markup.h"
#include "support/cmocka_all.h"
#include "support/near.h"

static struct sh_text text;

static int setup(void **state)
{
    sh_text_init(&text, 0);
    return 0;
}

static int teardown(void **state)
{
    sh_text_close(&text);
    return 0;
}

/* A shot that was drawn for one second and held for hold_s, the click 0.1 s before its end. */
static struct sh_shot_record make(double hold_s)
{
    struct sh_shot_record record;
    memset(&record, 0, sizeof record);
    record.shot.n = 7;
    record.shot.event_s[SH_EVENT_DRAW_START] = sh_quantity_known(100.0, 0.01);
    record.shot.event_s[SH_EVENT_FULL_DRAW] = sh_quantity_known(101.0, 0.01);
    record.shot.event_s[SH_EVENT_CLICKER] = sh_quantity_known(100.9 + hold_s, 0.001);
    record.shot.event_s[SH_EVENT_RELEASE] = sh_quantity_known(101.0 + hold_s, 0.001);
    return record;
}

static struct sh_ruler fit(const double *holds_s, size_t n)
{
    struct sh_analysis analysis;
    sh_analysis_init(&analysis, "a", "rook");
    for (size_t i = 0; i < n; i++) {
        struct sh_shot_record record = make(holds_s[i]);
        assert_int_equal(sh_analysis_add(&analysis, &record), SH_OK);
    }
    struct sh_ruler ruler = sh_shot_rows_fit(&analysis);
    sh_analysis_close(&analysis);
    return ruler;
}

static void test_the_axis_ends_at_the_release(void **state)
{
    struct sh_ruler ruler = fit((const double[]){3.0, 2.5}, 2);
    assert_near(ruler.hi, 0.0, 1e-12, 0);
    assert_near(ruler.lo, -4.0, 1e-12, 0);
    ruler = fit(NULL, 0);
    assert_near(ruler.lo, -5.0, 1e-12, 0);
}

static void test_one_long_draw_does_not_squeeze_the_others(void **state)
{
    const double holds_s[] = {3.0, 3.0, 3.0, 3.0, 3.0, 3.0, 3.0, 3.0, 3.0, 59.0};
    struct sh_ruler ruler = fit(holds_s, 10);
    /* twice the mean of nine of 4 s and one of 60 s */
    assert_true(ruler.lo <= -19.2 && ruler.lo >= -25.0);
}

static void test_a_shot_has_all_its_parts(void **state)
{
    struct sh_ruler ruler = fit((const double[]){3.0}, 1);
    struct sh_shot_record record = make(3.0);
    sh_shot_rows_draw(&text, &ruler, &record);
    markup_check(text.data);
    markup_check_has(text.data, "<title>Draw 7: held for 3.00 s before the release</title>");
    markup_check_has(text.data, "<rect class=\"draw\" x=\"0%\"");
    markup_check_has(text.data, "<rect class=\"hold\" x=\"25%\"");
    markup_check_has(text.data, "<line class=\"click\" x1=\"97.5%\"");
    assert_int_equal(markup_count(text.data, "class=\"release\""), 1);
    assert_int_equal(markup_count(text.data, "class=\"doubt\""), 1);
    markup_check_has(text.data, ">draw</text>");
    markup_check_has(text.data, ">hold</text>");
}

static void test_a_let_down_ends_with_a_diamond(void **state)
{
    struct sh_ruler ruler = fit((const double[]){3.0}, 1);
    struct sh_shot_record record = make(3.0);
    record.shot.kind = SH_SHOT_LET_DOWN;
    record.shot.event_s[SH_EVENT_LET_DOWN] = record.shot.event_s[SH_EVENT_RELEASE];
    record.shot.event_s[SH_EVENT_RELEASE] = sh_quantity_unknown(SH_WHY_NOT_APPLICABLE);
    record.shot.event_s[SH_EVENT_CLICKER] = sh_quantity_unknown(SH_WHY_NOT_SEEN);
    sh_shot_rows_draw(&text, &ruler, &record);
    markup_check(text.data);
    markup_check_has(text.data, "before the let-down");
    assert_int_equal(markup_count(text.data, "class=\"release\""), 0);
    assert_int_equal(markup_count(text.data, "class=\"click\""), 0);
    assert_int_equal(markup_count(text.data, "mark hollow"), 1);
}

static void test_what_is_cut_says_its_length(void **state)
{
    struct sh_ruler ruler = fit((const double[]){3.0}, 1);
    struct sh_shot_record record = make(30.0);
    sh_shot_rows_draw(&text, &ruler, &record);
    markup_check(text.data);
    markup_check_has(text.data, "began 31.0 s before the end");
    assert_int_equal(markup_count(text.data, "class=\"draw\""), 0);
    markup_check_has(text.data, "<rect class=\"hold\" x=\"0%\"");
    assert_null(strstr(text.data, "\"-"));
}

static void test_unknown_parts_are_left_out(void **state)
{
    struct sh_ruler ruler = fit((const double[]){3.0}, 1);
    struct sh_shot_record record = make(3.0);
    record.shot.event_s[SH_EVENT_FULL_DRAW] = sh_quantity_unknown(SH_WHY_GAP);
    sh_shot_rows_draw(&text, &ruler, &record);
    markup_check_has(text.data, "its hold is unknown");
    assert_int_equal(markup_count(text.data, "<rect"), 0);
    assert_int_equal(markup_count(text.data, "class=\"release\""), 1);
    assert_null(strstr(text.data, "nan"));
    sh_text_reset(&text);
    record.shot.event_s[SH_EVENT_RELEASE] = sh_quantity_unknown(SH_WHY_UNRESOLVED);
    sh_shot_rows_draw(&text, &ruler, &record);
    markup_check(text.data);
    markup_check_has(text.data, ">no release or let-down was found</text>");
    assert_int_equal(markup_count(text.data, "<line"), 0);
}

static void test_head(void **state)
{
    struct sh_ruler ruler = fit((const double[]){3.0}, 1);
    sh_shot_rows_draw_head(&text, &ruler);
    markup_check(text.data);
    markup_check_has(text.data, ">-4</text>");
    markup_check_has(text.data, ">0</text>");
    markup_check_has(text.data, "time before the release (s)");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_the_axis_ends_at_the_release),
        cmocka_unit_test(test_one_long_draw_does_not_squeeze_the_others),
        cmocka_unit_test_setup_teardown(test_a_shot_has_all_its_parts, setup, teardown),
        cmocka_unit_test_setup_teardown(test_a_let_down_ends_with_a_diamond, setup, teardown),
        cmocka_unit_test_setup_teardown(test_what_is_cut_says_its_length, setup, teardown),
        cmocka_unit_test_setup_teardown(test_unknown_parts_are_left_out, setup, teardown),
        cmocka_unit_test_setup_teardown(test_head, setup, teardown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
