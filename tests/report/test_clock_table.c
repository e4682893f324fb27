/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/clock_table.h"

#include <string.h>

#include "report/utf8.h"
#include "support/cmocka_all.h"

static struct sh_analysis analysis;
static struct sh_text text;

static int open_analysis(void **state)
{
    sh_analysis_init(&analysis, "tuesday", "wren");
    sh_text_init(&text, 0);
    return 0;
}

static int close_analysis(void **state)
{
    sh_text_close(&text);
    sh_analysis_close(&analysis);
    return 0;
}

static void add(double out_s, enum sh_shot_kind kind, double draw_s, double release_s)
{
    struct sh_shot_record record;
    memset(&record, 0, sizeof record);
    record.shot.n = (unsigned)analysis.n_shots + 1;
    record.shot.kind = kind;
    record.shot.event_s[SH_EVENT_DRAW_START] = sh_quantity_known(out_s - draw_s, 0.01);
    record.measures.quantity[SH_MEASURE_TIME_LEFT_DRAW_FIRST] = sh_quantity_known(draw_s, 0.01);
    if (kind == SH_SHOT_SHOT) {
        record.measures.quantity[SH_MEASURE_TIME_LEFT_RELEASE_FIRST] =
            sh_quantity_known(release_s, 0.01);
    }
    assert_int_equal(sh_analysis_add(&analysis, &record), SH_OK);
}

static void check(size_t n_columns, const char *expected)
{
    sh_clock_table_write(&analysis, n_columns, &text);
    assert_int_equal(text.status, SH_OK);
    assert_string_equal(text.data != NULL ? text.data : "", expected);
}

static void test_nothing_without_a_clock(void **state)
{
    struct sh_shot_record record;
    memset(&record, 0, sizeof record);
    record.shot.kind = SH_SHOT_SHOT;
    assert_int_equal(sh_analysis_add(&analysis, &record), SH_OK);
    check(80, "");
}

static void test_by_arrow(void **state)
{
    add(200.0, SH_SHOT_SHOT, 110.0, 104.04);
    add(200.0, SH_SHOT_LET_DOWN, 90.0, 0.0);
    add(200.0, SH_SHOT_SHOT, 74.3, 70.0);
    add(400.0, SH_SHOT_SHOT, 105.0, 100.0);
    add(400.0, SH_SHOT_SHOT, 20.0, 0.01); /* not surely in time, nor out of it */
    add(600.0, SH_SHOT_SHOT, 110.0, 102.0);
    add(600.0, SH_SHOT_SHOT, 4.0, -1.5);
    add(600.0, SH_SHOT_LET_DOWN, -10.0, 0.0);
    analysis.shots[5].measures.quantity[SH_MEASURE_TIME_LEFT_RELEASE_FIRST] =
        sh_quantity_unknown(SH_WHY_NOT_APPLICABLE); /* the clock was stopped meanwhile */
    add(800.0, SH_SHOT_SHOT, 110.0, 98.0);
    check(80, "\nSeconds left at the release\n"
              "  arrow          1      2\n"
              "  clock 1    104.0   70.0\n"
              "  clock 2    100.0    0.0\n"
              "  clock 3        -   -1.5\n"
              "  clock 4     98.0\n"
              "  median     100.0    0.0\n"
              "  Draw 2 was let down: 15.7 s from its start to that of the next.\n"
              "  Draw 7 was released 1.50 s after the time was up.\n"
              "  Draw 8 was let down, the last under its clock.\n");
}

/* Alternating shooting: a clock an arrow, all in one line, which breaks where it must. */
static void test_turns_in_a_narrow_terminal(void **state)
{
    for (unsigned i = 0; i < 5; i++) {
        add(100.0 + 30.0 * i, SH_SHOT_SHOT, 12.0 - i, 8.0 - i);
    }
    check(40, "\nSeconds left at the release\n"
              "  arrow          1      2      3      4\n"
              "                 5\n"
              "  turns        8.0    7.0    6.0    5.0\n"
              "               4.0\n");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_nothing_without_a_clock, open_analysis,
                                        close_analysis),
        cmocka_unit_test_setup_teardown(test_by_arrow, open_analysis, close_analysis),
        cmocka_unit_test_setup_teardown(test_turns_in_a_narrow_terminal, open_analysis,
                                        close_analysis),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
