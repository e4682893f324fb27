/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "finding/judge.h"

#include <math.h>

#include "finding/one_shot.h"
#include "support/cmocka_all.h"
#include "support/near.h"

static struct sh_thresholds thresholds;

static int set_up(void **state)
{
    thresholds = sh_thresholds_default();
    return 0;
}

static const struct sh_finding *find(const struct sh_shot_record *record, enum sh_code code)
{
    for (size_t i = 0; i < record->n_findings; i++) {
        if (record->findings[i].code == code) {
            return &record->findings[i];
        }
    }
    return NULL;
}

/* Judges with the defaults, without history and limits. */
static const struct sh_finding *judge(struct sh_shot_record *record, enum sh_code code)
{
    struct sh_judge judge = {.thresholds = &thresholds, .date = ""};
    sh_judge_shot(&judge, record);
    return find(record, code);
}

static void test_nothing_stands_out(void **state)
{
    struct sh_shot_record record = make_plain_shot();
    assert_null(judge(&record, SH_CODE_CREEP));
    assert_int_equal(record.n_findings, 0);
    for (int i = 0; i < SH_CODE_QUALITY_COUNT; i++) {
        assert_false(record.quality[i]);
    }
}

/* One measure at, below and above its threshold, each surely known. */
static void check_size(enum sh_measure measure, enum sh_code code, double threshold)
{
    struct sh_shot_record record = make_plain_shot();
    put(&record, measure, threshold, 0.01);
    const struct sh_finding *finding = judge(&record, code);
    assert_non_null(finding);
    assert_near(finding->threshold, threshold, 1e-12, 0);
    assert_near(finding->value.value, threshold, 0, 0);
    assert_int_equal(finding->basis, SH_CODE_BASIS_FIXED);
    assert_false(finding->has_unusual);
    assert_true(strlen(finding->text) > 20);
    put(&record, measure, threshold - 1e-6, 0.01);
    assert_null(judge(&record, code));
    put(&record, measure, threshold + 1e-6, 0.01);
    assert_non_null(judge(&record, code));
    put(&record, measure, threshold, threshold / 1.95);
    assert_null(judge(&record, code));
    put(&record, measure, threshold, threshold / 1.97);
    assert_non_null(judge(&record, code));
    *sh_catalog_get_mutable(&record.measures, measure, 0) = sh_quantity_unknown(SH_WHY_GAP);
    assert_null(judge(&record, code));
}

/* Thresholds of docs/findings.md: the fixed floor, and the share of the tremor above it. */
static void test_sizes(void **state)
{
    check_size(SH_MEASURE_CREEP_FORCE, SH_CODE_CREEP, 0.5);
    check_size(SH_MEASURE_FLINCH_FORCE, SH_CODE_FLINCH, 0.3 * 3.0);
    check_size(SH_MEASURE_COLLAPSE, SH_CODE_COLLAPSE, 0.8);
}

static void test_tremor_raises_the_bar(void **state)
{
    struct sh_shot_record record = make_plain_shot();
    put(&record, SH_MEASURE_TREMOR_RMS, 1.0, 0.02);
    put(&record, SH_MEASURE_CREEP_FORCE, 0.959, 0.02);
    put(&record, SH_MEASURE_COLLAPSE, 1.199, 0.02);
    assert_null(judge(&record, SH_CODE_CREEP));
    assert_null(judge(&record, SH_CODE_COLLAPSE));
    put(&record, SH_MEASURE_CREEP_FORCE, 0.961, 0.02);
    put(&record, SH_MEASURE_COLLAPSE, 1.201, 0.02);
    assert_non_null(judge(&record, SH_CODE_CREEP));
    assert_non_null(judge(&record, SH_CODE_COLLAPSE));
    record.measures.steady_rms_n.value = 0.1;
    put(&record, SH_MEASURE_FLINCH_FORCE, 0.8, 0.02);
    assert_near(judge(&record, SH_CODE_FLINCH)->threshold, 0.8, 0, 0);
}

static void test_without_tremor_nothing_is_said(void **state)
{
    struct sh_shot_record record = make_plain_shot();
    put(&record, SH_MEASURE_CREEP_FORCE, 5.0, 0.02);
    put(&record, SH_MEASURE_COLLAPSE, 5.0, 0.02);
    put(&record, SH_MEASURE_FLINCH_FORCE, 5.0, 0.02);
    *sh_catalog_get_mutable(&record.measures, SH_MEASURE_TREMOR_RMS, 0) =
        sh_quantity_unknown(SH_WHY_TOO_SHORT);
    record.measures.steady_rms_n = sh_quantity_unknown(SH_WHY_TOO_SHORT);
    assert_null(judge(&record, SH_CODE_CREEP));
    assert_int_equal(record.n_findings, 0);
    assert_true(record.quality[SH_CODE_QUALITY_SHORT]);
}

static void test_early_loose_needs_evidence(void **state)
{
    struct sh_shot_record record = make_plain_shot();
    record.shot.strip = SH_STRIP_UNKNOWN;
    assert_null(judge(&record, SH_CODE_EARLY_LOOSE));
    record.shot.strip = SH_STRIP_CONTACT_CLOSED;
    const struct sh_finding *finding = judge(&record, SH_CODE_EARLY_LOOSE);
    assert_non_null(finding);
    assert_true(isnan(finding->threshold));
    assert_false(sh_quantity_is_known(&finding->value));
    record.shot.strip = SH_STRIP_NO_BLOW;
    assert_non_null(judge(&record, SH_CODE_EARLY_LOOSE));
    record.shot.kind = SH_SHOT_LET_DOWN;
    assert_null(judge(&record, SH_CODE_EARLY_LOOSE));
}

/* 1.96 u inside the limit: 0.085 - 1.96 * 0.001 = 0.08304. */
static void test_reaction(void **state)
{
    static const struct {
        double reaction_s;
        bool is_anticipated;
        bool is_late;
    } cases[] = {{-0.01, false, false},  {0.0, true, false},     {0.083, true, false},
                 {0.0831, false, false}, {0.4019, false, false}, {0.402, false, true}};
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        struct sh_shot_record record = make_plain_shot();
        put(&record, SH_MEASURE_CLICKER_REACTION, cases[i].reaction_s, 0.001);
        bool is_anticipated = judge(&record, SH_CODE_ANTICIPATED_CLICKER) != NULL;
        assert_int_equal(is_anticipated, cases[i].is_anticipated);
        assert_int_equal(judge(&record, SH_CODE_LATE_REACTION) != NULL, cases[i].is_late);
    }
}

static void test_hold(void **state)
{
    static const struct {
        double hold_s;
        bool is_short;
        bool is_long;
    } cases[] = {{0.98, true, false},
                 {0.9805, false, false},
                 {6.0195, false, false},
                 {6.02, false, true}};
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        struct sh_shot_record record = make_plain_shot();
        put(&record, SH_MEASURE_HOLD_TIME, cases[i].hold_s, 0.01);
        assert_int_equal(judge(&record, SH_CODE_SHORT_HOLD) != NULL, cases[i].is_short);
        assert_int_equal(judge(&record, SH_CODE_LONG_HOLD) != NULL, cases[i].is_long);
    }
}

static void test_an_interval_counts_as_given(void **state)
{
    struct sh_shot_record record = make_plain_shot();
    struct sh_quantity *hold =
        sh_catalog_get_mutable(&record.measures, SH_MEASURE_HOLD_TIME, 0);
    *hold = sh_quantity_known(6.5, 0.01);
    hold->has_interval = true;
    hold->lo = 5.99;
    hold->hi = 6.6;
    assert_null(judge(&record, SH_CODE_LONG_HOLD));
    hold->lo = 6.01;
    assert_non_null(judge(&record, SH_CODE_LONG_HOLD));
}

/* u of the ratio 0.45 / 0.3: 1.5 * sqrt(0.1^2 + 0.1^2) = 0.212; 1.5 - 1.96 * 0.212 > 1. */
static void test_tremor_rise(void **state)
{
    struct sh_shot_record record = make_plain_shot();
    record.measures.tremor_last_third_n = sh_quantity_known(0.45, 0.045);
    const struct sh_finding *finding = judge(&record, SH_CODE_TREMOR_RISE);
    assert_non_null(finding);
    assert_near(finding->value.value, 1.5, 1e-12, 0);
    assert_near(finding->value.u, 0.212132034355964, 1e-12, 0);
    record.measures.tremor_last_third_n.value = 0.4499;
    assert_null(judge(&record, SH_CODE_TREMOR_RISE));
    record.measures.tremor_last_third_n = sh_quantity_known(0.45, 0.075);
    assert_null(judge(&record, SH_CODE_TREMOR_RISE));
}

static void test_clock_risk(void **state)
{
    struct sh_shot_record record = make_plain_shot();
    put(&record, SH_MEASURE_TIME_LEFT_RELEASE, 4.99, 0.001);
    assert_non_null(judge(&record, SH_CODE_CLOCK_RISK));
    put(&record, SH_MEASURE_TIME_LEFT_RELEASE, 5.0, 0.001);
    assert_null(judge(&record, SH_CODE_CLOCK_RISK));
    put(&record, SH_MEASURE_TIME_LEFT_RELEASE, -3.0, 0.001);
    assert_non_null(judge(&record, SH_CODE_CLOCK_RISK));
}

static void test_let_down(void **state)
{
    struct sh_shot_record record = make_plain_shot();
    record.shot.kind = SH_SHOT_LET_DOWN;
    record.shot.event_s[SH_EVENT_RELEASE] = sh_quantity_unknown(SH_WHY_NOT_APPLICABLE);
    record.shot.event_s[SH_EVENT_LET_DOWN] = sh_quantity_known(19.0, 0.012);
    put(&record, SH_MEASURE_CREEP_FORCE, 5.0, 0.02);
    const struct sh_finding *finding = judge(&record, SH_CODE_LET_DOWN);
    assert_non_null(finding);
    assert_true(isnan(finding->threshold));
    assert_near(finding->value.value, 2.0, 1e-12, 0);
    assert_near(finding->value.u, 0.013, 1e-12, 0);
    assert_int_equal(record.n_findings, 1);
    record.shot.kind = SH_SHOT_UNRESOLVED;
    assert_null(judge(&record, SH_CODE_LET_DOWN));
}

static void test_slide(void **state)
{
    struct sh_shot_record record = make_plain_shot();
    struct sh_quantity *ring =
        sh_catalog_get_mutable(&record.measures, SH_MEASURE_FINGER_SHARE_CHANGE, 2);
    *ring = sh_quantity_known(-0.06, 0.01);
    assert_non_null(judge(&record, SH_CODE_FINGER_SLIDE));
    ring->value = -0.0599;
    assert_null(judge(&record, SH_CODE_FINGER_SLIDE));
    *ring = sh_quantity_known(-0.06, 0.031);
    assert_null(judge(&record, SH_CODE_FINGER_SLIDE));
    *ring = sh_quantity_known(0.2, 0.01);
    assert_null(judge(&record, SH_CODE_FINGER_SLIDE));
}

static void test_history(void **state)
{
    struct sh_baseline baseline = {0};
    struct sh_judge judge = {.thresholds = &thresholds, .baseline = &baseline, .date = ""};
    struct sh_shot_record record = make_plain_shot();
    put(&record, SH_MEASURE_CREEP_FORCE, 1.0, 0.02);
    put(&record, SH_MEASURE_SETUP_TIME, 7.0, 0.01);
    baseline.place[SH_MEASURE_CREEP_FORCE_FIRST] = (struct sh_baseline_place){19, 0.4, 0.2};
    baseline.n_clocked = 20;
    baseline.set_up_quantile_s = 8.0;
    sh_judge_shot(&judge, &record);
    assert_false(find(&record, SH_CODE_CREEP)->has_unusual);
    assert_null(find(&record, SH_CODE_RUSHED_SET_UP)); /* no clock */
    baseline.place[SH_MEASURE_CREEP_FORCE_FIRST].n = 20;
    put(&record, SH_MEASURE_TIME_LEFT_DRAW, 30.0, 0.01);
    sh_judge_shot(&judge, &record);
    assert_true(find(&record, SH_CODE_CREEP)->has_unusual);
    assert_near(find(&record, SH_CODE_CREEP)->unusual, 3.0, 1e-12, 0);
    assert_int_equal(find(&record, SH_CODE_RUSHED_SET_UP)->basis, SH_CODE_BASIS_HISTORY);
    baseline.n_clocked = 19;
    sh_judge_shot(&judge, &record);
    assert_null(find(&record, SH_CODE_RUSHED_SET_UP));
    baseline.place[SH_MEASURE_CREEP_FORCE_FIRST].median = 5.0;
    put(&record, SH_MEASURE_CREEP_FORCE, 0.3, 0.02);
    sh_judge_shot(&judge, &record);
    assert_int_equal(record.n_findings, 0); /* unusual alone is no finding */
}

static void test_a_users_threshold(void **state)
{
    thresholds.creep_least_n = 0.2;
    thresholds.creep_tremor_ratio = 0.0;
    thresholds.is_user[SH_CODE_CREEP] = true;
    struct sh_shot_record record = make_plain_shot();
    put(&record, SH_MEASURE_CREEP_FORCE, 0.25, 0.01);
    const struct sh_finding *finding = judge(&record, SH_CODE_CREEP);
    assert_non_null(finding);
    assert_int_equal(finding->basis, SH_CODE_BASIS_USER);
}

static void test_quality(void **state)
{
    struct sh_shot_record record = make_plain_shot();
    record.shot.is_clipped = true;
    record.shot.has_dead_channel = true;
    (void)judge(&record, SH_CODE_CREEP);
    assert_true(record.quality[SH_CODE_QUALITY_CLIPPED]);
    assert_true(record.quality[SH_CODE_QUALITY_DEAD]);
    assert_false(record.quality[SH_CODE_QUALITY_GAP]);
    assert_false(record.quality[SH_CODE_QUALITY_CORRECTED]);
    record.shot.is_corrected[SH_EVENT_END] = true;
    record.shot.has_gap = true;
    record.shot.is_noisy = true;
    (void)judge(&record, SH_CODE_CREEP);
    assert_true(record.quality[SH_CODE_QUALITY_GAP]);
    assert_true(record.quality[SH_CODE_QUALITY_NOISY]);
    assert_true(record.quality[SH_CODE_QUALITY_CORRECTED]);
}

static void test_limits_are_bounded(void **state)
{
    static struct sh_mark marks[SH_FINDING_MAX + 5];
    for (size_t i = 0; i < SH_FINDING_MAX + 5; i++) {
        marks[i] = (struct sh_mark){.kind = SH_MARK_LIMIT,
                                    .what = "hold_force_n",
                                    .per = "shot",
                                    .most = {true, 100.0}};
    }
    struct sh_judge judge = {
        .thresholds = &thresholds, .marks = marks, .n_marks = SH_FINDING_MAX + 5, .date = ""};
    struct sh_shot_record record = make_plain_shot();
    put(&record, SH_MEASURE_HOLD_FORCE, 170.0, 1.0);
    sh_judge_shot(&judge, &record);
    assert_int_equal(record.n_findings, SH_FINDING_MAX);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_nothing_stands_out),
        cmocka_unit_test(test_sizes),
        cmocka_unit_test(test_tremor_raises_the_bar),
        cmocka_unit_test(test_without_tremor_nothing_is_said),
        cmocka_unit_test(test_early_loose_needs_evidence),
        cmocka_unit_test(test_reaction),
        cmocka_unit_test(test_hold),
        cmocka_unit_test(test_an_interval_counts_as_given),
        cmocka_unit_test(test_tremor_rise),
        cmocka_unit_test(test_clock_risk),
        cmocka_unit_test(test_let_down),
        cmocka_unit_test(test_slide),
        cmocka_unit_test(test_history),
        cmocka_unit_test_setup_teardown(test_a_users_threshold, set_up, set_up),
        cmocka_unit_test(test_quality),
        cmocka_unit_test(test_limits_are_bounded),
    };
    return cmocka_run_group_tests(tests, set_up, NULL);
}
