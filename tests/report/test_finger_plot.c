/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/finger_plot.h"

#include <string.h>

#include "report/markup.h"
#include "support/cmocka_all.h"

static void add(struct sh_analysis *analysis, const double share[3], bool has_slid)
{
    static struct sh_shot_record record;
    memset(&record, 0, sizeof record);
    record.shot.n = (unsigned)analysis->n_shots + 1;
    record.shot.event_s[SH_EVENT_RELEASE] = sh_quantity_known(12.5, 0.001);
    for (size_t k = 0; k < 3; k++) {
        record.measures.quantity[SH_MEASURE_FINGER_SHARE_FIRST + k] =
            sh_quantity_known(share[k], 0.01);
        record.measures.quantity[SH_MEASURE_FINGER_SHARE_CHANGE_FIRST + k] =
            sh_quantity_known(has_slid && k == 2 ? -0.1 : 0.05, 0.001);
    }
    if (has_slid) {
        record.measures.quantity[SH_MEASURE_FINGER_SLIDE_FIRST] = sh_quantity_known(10.2, 0.05);
        record.findings[0].code = SH_CODE_FINGER_SLIDE;
        record.n_findings = 1;
    }
    assert_int_equal(sh_analysis_add(analysis, &record), SH_OK);
}

static void test_each_finger_has_its_place(void **state)
{
    static const double shares[] = {0.4, 0.42, 0.18};
    struct sh_analysis analysis;
    struct sh_text text;
    sh_analysis_init(&analysis, "a", "rook");
    sh_text_init(&text, 0);
    add(&analysis, shares, false);
    add(&analysis, shares, true);
    sh_finger_plot_draw(&text, &analysis);
    assert_int_equal(text.status, SH_OK);
    markup_check(text.data);
    assert_int_equal(markup_count(text.data, "mark filled"), 6);
    assert_int_equal(markup_count(text.data, "class=\"doubt\""), 12); /* interval and change */
    markup_check_has(text.data, "index finger: share of the load (%)");
    markup_check_has(text.data, "middle finger: share of the load (%)");
    markup_check_has(text.data, "ring finger: share of the load (%)");
    assert_int_equal(markup_count(text.data, "-2.3 s"), 1);
    sh_text_close(&text);
    sh_analysis_close(&analysis);
}

static void test_nothing_known_nothing_drawn(void **state)
{
    static struct sh_shot_record record;
    struct sh_analysis analysis;
    struct sh_text text;
    sh_analysis_init(&analysis, "a", "rook");
    sh_text_init(&text, 0);
    assert_int_equal(sh_analysis_add(&analysis, &record), SH_OK);
    for (size_t k = 0; k < 3; k++) {
        analysis.shots[0].measures.quantity[SH_MEASURE_FINGER_SHARE_FIRST + k] =
            sh_quantity_unknown(SH_WHY_NO_CHANNEL);
    }
    sh_finger_plot_draw(&text, &analysis);
    assert_int_equal(text.n_bytes, 0);
    sh_text_close(&text);
    sh_analysis_close(&analysis);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_each_finger_has_its_place),
        cmocka_unit_test(test_nothing_known_nothing_drawn),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
