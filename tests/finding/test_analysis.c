/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "finding/analysis.h"

#include <string.h>

#include "support/cmocka_all.h"
#include "support/near.h"

/* A shot whose release and hold are known. */
static struct sh_shot_record make_record(double release_s, double hold_s)
{
    struct sh_shot_record record;
    memset(&record, 0, sizeof record);
    record.shot.event_s[SH_EVENT_RELEASE] = sh_quantity_known(release_s, 0.001);
    record.measures.quantity[SH_MEASURE_HOLD_TIME_FIRST] = sh_quantity_known(hold_s, 0.01);
    return record;
}

static void test_grows(void **state)
{
    struct sh_analysis analysis;
    sh_analysis_init(&analysis, "tuesday", "wren");
    for (int i = 0; i < 100; i++) {
        struct sh_shot_record record = make_record(i, 2.0);
        assert_int_equal(sh_analysis_add(&analysis, &record), SH_OK);
    }
    assert_int_equal(analysis.n_shots, 100);
    assert_near(sh_analysis_get_time_s(&analysis.shots[99]), 99.0, 0, 0);
    for (size_t i = 0; i < SH_ANALYSIS_HISTORY_MAX; i++) {
        assert_int_equal(sh_analysis_add_history(&analysis, i == 1 ? "sunday" : "monday"),
                         SH_OK);
    }
    assert_int_equal(sh_analysis_add_history(&analysis, "monday"), SH_ERR_FULL);
    assert_string_equal(analysis.history[1], "sunday");
    sh_analysis_close(&analysis);
    sh_analysis_close(&analysis);
    assert_null(analysis.shots);
}

static void test_a_shot_is_replaced(void **state)
{
    struct sh_analysis analysis;
    sh_analysis_init(&analysis, "tuesday", "wren");
    for (unsigned n = 1; n < 4; n++) {
        struct sh_shot_record record = make_record(10.0 * n, 2.0);
        record.shot.n = n;
        assert_int_equal(sh_analysis_add(&analysis, &record), SH_OK);
    }
    struct sh_shot_record other = make_record(20.5, 3.0);
    other.shot.n = 2;
    other.n_findings = 1;
    other.findings[0].code = SH_CODE_LONG_HOLD;
    assert_int_equal(sh_analysis_replace(&analysis, &other), SH_OK);
    assert_int_equal(analysis.n_shots, 3);
    assert_near(sh_analysis_get_time_s(&analysis.shots[1]), 20.5, 0, 0);
    assert_int_equal(analysis.shots[1].n_findings, 1);
    assert_int_equal(analysis.shots[1].findings[0].code, SH_CODE_LONG_HOLD);
    assert_near(sh_analysis_get_time_s(&analysis.shots[0]), 10.0, 0, 0);
    assert_near(sh_analysis_get_time_s(&analysis.shots[2]), 30.0, 0, 0);
    other.shot.n = 4;
    assert_int_equal(sh_analysis_replace(&analysis, &other), SH_ERR_NOT_FOUND);
    sh_analysis_close(&analysis);
}

static void test_a_quality_is_said_once(void **state)
{
    struct sh_analysis analysis;
    sh_analysis_init(&analysis, "tuesday", "wren");
    sh_analysis_add_quality(&analysis, SH_CODE_QUALITY_GAP, "first");
    sh_analysis_add_quality(&analysis, SH_CODE_QUALITY_GAP, "again");
    sh_analysis_add_quality(&analysis, SH_CODE_QUALITY_CLIPPED, "other");
    assert_int_equal(analysis.n_quality, 2);
    assert_string_equal(analysis.quality[0].text, "first");
    assert_int_equal(analysis.quality[1].code, SH_CODE_QUALITY_CLIPPED);
    sh_analysis_close(&analysis);
}

static void test_what_tells_a_shot(void **state)
{
    struct sh_shot_record record = make_record(9.0, 2.0);
    record.shot.event_s[SH_EVENT_DRAW_START] = sh_quantity_known(5.0, 0.01);
    assert_near(sh_analysis_get_time_s(&record), 9.0, 0, 0);
    record.shot.event_s[SH_EVENT_RELEASE] = sh_quantity_unknown(SH_WHY_NOT_APPLICABLE);
    assert_near(sh_analysis_get_time_s(&record), 5.0, 0, 0);
    record.shot.event_s[SH_EVENT_LET_DOWN] = sh_quantity_known(7.0, 0.01);
    assert_near(sh_analysis_get_time_s(&record), 7.0, 0, 0);
}

static void test_compare(void **state)
{
    struct sh_analysis first;
    struct sh_analysis later;
    sh_analysis_init(&first, "tuesday", "wren");
    sh_analysis_init(&later, "tuesday", "wren");
    struct sh_shot_record record = make_record(10.0, 2.0);
    assert_int_equal(sh_analysis_add(&first, &record), SH_OK);
    assert_int_equal(sh_analysis_add(&later, &record), SH_OK);
    record = make_record(20.0, 2.0);
    assert_int_equal(sh_analysis_add(&first, &record), SH_OK);
    record = make_record(20.001, 2.0);
    record.shot.event_s[SH_EVENT_CLICKER] = sh_quantity_known(19.9, 0.001);
    assert_int_equal(sh_analysis_add(&later, &record), SH_OK);
    record = make_record(30.0, 2.0);
    assert_int_equal(sh_analysis_add(&later, &record), SH_OK);
    sh_analysis_compare(&first, &later);

    assert_false(later.shots[0].is_kind_changed);
    assert_false(later.shots[0].is_event_changed[SH_EVENT_RELEASE]);
    assert_false(later.shots[0].is_measure_changed[SH_MEASURE_HOLD_TIME]);

    assert_true(later.shots[1].is_event_changed[SH_EVENT_RELEASE]);
    assert_true(later.shots[1].is_event_changed[SH_EVENT_CLICKER]);
    assert_false(later.shots[1].is_event_changed[SH_EVENT_END]);
    assert_false(later.shots[1].is_measure_changed[SH_MEASURE_HOLD_TIME]);
    assert_false(later.shots[1].is_kind_changed);

    assert_true(later.shots[2].is_kind_changed);
    assert_true(later.shots[2].is_event_changed[SH_EVENT_RELEASE]);
    assert_true(later.shots[2].is_measure_changed[SH_MEASURE_HOLD_TIME]);
    assert_false(later.shots[2].is_measure_changed[SH_MEASURE_RING]);
    sh_analysis_close(&first);
    sh_analysis_close(&later);
}

static void test_an_uncertainty_or_a_reason_is_a_change(void **state)
{
    struct sh_analysis first;
    struct sh_analysis later;
    sh_analysis_init(&first, "tuesday", "wren");
    sh_analysis_init(&later, "tuesday", "wren");
    struct sh_shot_record record = make_record(10.0, 2.0);
    record.measures.quantity[SH_MEASURE_RING_FIRST] = sh_quantity_unknown(SH_WHY_NO_CHANNEL);
    assert_int_equal(sh_analysis_add(&first, &record), SH_OK);
    record.measures.quantity[SH_MEASURE_HOLD_TIME_FIRST].u = 0.02;
    record.measures.quantity[SH_MEASURE_RING_FIRST] = sh_quantity_unknown(SH_WHY_GAP);
    record.measures.vibration_clipped = SH_ANSWER_YES;
    assert_int_equal(sh_analysis_add(&later, &record), SH_OK);
    sh_analysis_compare(&first, &later);
    assert_true(later.shots[0].is_measure_changed[SH_MEASURE_HOLD_TIME]);
    assert_true(later.shots[0].is_measure_changed[SH_MEASURE_RING]);
    assert_true(later.shots[0].is_measure_changed[SH_MEASURE_VIBRATION_PEAK]);
    assert_false(later.shots[0].is_measure_changed[SH_MEASURE_CREEP_FORCE]);
    sh_analysis_close(&first);
    sh_analysis_close(&later);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_grows),
        cmocka_unit_test(test_a_shot_is_replaced),
        cmocka_unit_test(test_a_quality_is_said_once),
        cmocka_unit_test(test_what_tells_a_shot),
        cmocka_unit_test(test_compare),
        cmocka_unit_test(test_an_uncertainty_or_a_reason_is_a_change),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
