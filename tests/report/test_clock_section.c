/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/clock_section.h"

#include <string.h>

#include "report/markup.h"
#include "report/table_check.h"
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

static void test_nothing_without_a_clock(void **state)
{
    sh_clock_section_write(&text, &analysis, 1);
    assert_int_equal(text.n_bytes, 0);
}

static void test_rows_links_and_sentences(void **state)
{
    add(200.0, SH_SHOT_SHOT, 110.0, 104.04);
    add(200.0, SH_SHOT_LET_DOWN, 90.0, 0.0);
    add(200.0, SH_SHOT_SHOT, 74.3, -2.5);
    add(400.0, SH_SHOT_SHOT, 105.0, 100.0);
    analysis.shots[3].measures.quantity[SH_MEASURE_TIME_LEFT_RELEASE_FIRST] =
        sh_quantity_unknown(SH_WHY_NOT_APPLICABLE);
    sh_clock_section_write(&text, &analysis, 2);
    markup_check(text.data);
    markup_check_has(text.data, "<th scope=\"col\">arrow 2<br/><span "
                                "class=\"soft\">s</span></th></tr></thead>");
    markup_check_has(text.data, "<tr><th scope=\"row\">1</th>"
                                "<td><a href=\"#draw-2-1\">104.040 \xC2\xB1"
                                "0.020</a></td>"
                                "<td><a href=\"#draw-2-3\">-2.500 \xC2\xB1"
                                "0.020</a></td></tr>\n"
                                "<tr><th scope=\"row\">2</th>"
                                "<td><a href=\"#draw-2-4\">-</a></td></tr>\n");
    static const char *const none[] = {NULL};
    assert_int_equal(table_check(text.data, none, none), 2);
    markup_check_has(text.data, "<li>Draw 2 was let down: 15.7 s from its start");
    markup_check_has(text.data, "<li>Draw 3 was released 2.50 s after the time was up.</li>");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_nothing_without_a_clock, open_analysis,
                                        close_analysis),
        cmocka_unit_test_setup_teardown(test_rows_links_and_sentences, open_analysis,
                                        close_analysis),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
