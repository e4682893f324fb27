/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "finding/limit_tally.h"

#include <string.h>

#include "finding/limit.h"
#include "finding/one_shot.h"
#include "support/cmocka_all.h"
#include "support/near.h"

/* A draw from start_s to end_s with impulses of 200, 200, 100 N s and peaks of 70, 70, 40 N. */
static struct sh_shot_record make_draw(double start_s, double end_s)
{
    static const double impulse[] = {200.0, 200.0, 100.0};
    static const double peak[] = {70.0, 70.0, 40.0};
    struct sh_shot_record record = make_plain_shot();
    record.shot.event_s[SH_EVENT_DRAW_START] = sh_quantity_known(start_s, 0.01);
    record.shot.event_s[SH_EVENT_RELEASE] = sh_quantity_known(end_s, 0.001);
    for (size_t i = 0; i < 3; i++) {
        *sh_catalog_get_mutable(&record.measures, SH_MEASURE_FINGER_IMPULSE, i) =
            sh_quantity_known(impulse[i], 0.01 * impulse[i]);
        *sh_catalog_get_mutable(&record.measures, SH_MEASURE_FINGER_PEAK, i) =
            sh_quantity_known(peak[i], 0.5);
        *sh_catalog_get_mutable(&record.measures, SH_MEASURE_FINGER_SHARE, i) =
            sh_quantity_known(impulse[i] / 500.0, 0.002);
    }
    return record;
}

static struct sh_mark make_limit(const char *what, const char *finger, const char *per)
{
    struct sh_mark mark = {.kind = SH_MARK_LIMIT, .most = {true, 1e9}};
    (void)strcpy(mark.what, what);
    (void)strcpy(mark.finger, finger);
    (void)strcpy(mark.per, per);
    return mark;
}

struct got {
    bool is_there;
    struct sh_quantity value;
    bool is_least;
};

/* After two draws of 20 s and 40 s, the second of which is record. */
static struct got get(const struct sh_mark *mark)
{
    struct sh_limit_tally tally = {0};
    const struct sh_shot_record first = make_draw(20.0, 25.0);
    const struct sh_shot_record second = make_draw(65.0, 70.0);
    struct got got = {0};
    sh_limit_tally_add(&tally, &first);
    sh_limit_tally_add(&tally, &second);
    got.is_there = sh_limit_tally_get(mark, &second, &tally, &got.value, &got.is_least);
    return got;
}

/* What, finger, span, value, u. */
static const struct {
    const char *what;
    const char *finger;
    const char *per;
    double value;
    double u;
} cases[] = {
    {"finger_peak_n", "ring", "shot", 40.0, 0.5},
    {"finger_peak_n", "ring", "day", 40.0, 0.5},
    {"finger_impulse_n_s", "ring", "shot", 100.0, 1.0},
    {"finger_impulse_n_s", "", "shot", 500.0, 5.0},
    {"finger_impulse_n_s", "ring", "session", 200.0, 2.0},
    {"finger_impulse_n_s", "", "day", 1000.0, 10.0},
    {"finger_share", "ring", "shot", 0.2, 0.002},
    {"draws", "", "day", 2.0, 0.0},
    {"rest_s", "", "shot", 40.0, 0.01005},
    {"hold_time_s", "", "shot", 3.0, 0.005},
};

static void test_values_of_each_kind(void **state)
{
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        const struct sh_mark mark = make_limit(cases[i].what, cases[i].finger, cases[i].per);
        struct got got = get(&mark);
        assert_true(got.is_there);
        assert_false(got.is_least);
        assert_near(got.value.value, cases[i].value, 0, 1e-12);
        assert_near(got.value.u, cases[i].u, 0, 1e-3);
    }
    const struct sh_mark share = make_limit("finger_share", "ring", "day");
    assert_near(get(&share).value.value, 0.2, 0, 1e-12);
    assert_true(get(&share).value.u > 0.0);
}

/* At, below and above, for each kind: reached from the limit on, the doubt of 2 u included. */
static void test_each_kind_at_its_limit(void **state)
{
    const struct sh_shot_record first = make_draw(20.0, 25.0);
    const struct sh_shot_record second = make_draw(65.0, 70.0);
    struct sh_limit_tally tally = {0};
    sh_limit_tally_add(&tally, &first);
    sh_limit_tally_add(&tally, &second);
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        struct sh_mark mark = make_limit(cases[i].what, cases[i].finger, cases[i].per);
        struct sh_finding finding;
        const struct got got = get(&mark);
        bool is_rest = strcmp(cases[i].what, "rest_s") == 0;
        double sign = is_rest ? -1.0 : 1.0;
        double edge = got.value.value + sign * 2.0 * got.value.u;
        struct sh_mark_number *limit = is_rest ? &mark.least : &mark.most;
        mark.most.is_given = false;
        limit->is_given = true;
        limit->value = edge;
        assert_true(sh_limit_find(&mark, "", &second, &tally, &finding));
        limit->value = edge + sign * 1e-9 * edge;
        assert_false(sh_limit_find(&mark, "", &second, &tally, &finding));
        limit->value = edge - sign * 1e-9 * edge;
        assert_true(sh_limit_find(&mark, "", &second, &tally, &finding));
        assert_true(finding.text[0] != '\0');
    }
}

/* What was carried earlier that day, as the limit mark has it. */
static void test_what_was_before(void **state)
{
    struct sh_mark mark = make_limit("finger_impulse_n_s", "ring", "day");
    mark.before = (struct sh_mark_number){true, 300.0};
    mark.before_u = (struct sh_mark_number){true, 3.0};
    struct got got = get(&mark);
    assert_near(got.value.value, 500.0, 0, 1e-12);
    assert_near(got.value.u, 5.0, 0, 1e-12);
    mark.before_unknown = (struct sh_mark_number){true, 1.0};
    got = get(&mark);
    assert_true(got.is_least);
    mark = make_limit("draws", "", "day");
    mark.before = (struct sh_mark_number){true, 40.0};
    assert_near(get(&mark).value.value, 42.0, 0, 0);
    mark = make_limit("finger_peak_n", "ring", "day");
    mark.before = (struct sh_mark_number){true, 44.0};
    assert_near(get(&mark).value.value, 44.0, 0, 0);
    mark.before.value = 30.0;
    assert_near(get(&mark).value.value, 40.0, 0, 0);
    mark = make_limit("finger_share", "ring", "day");
    mark.before = (struct sh_mark_number){true, 300.0};
    mark.before_all = (struct sh_mark_number){true, 1000.0};
    assert_near(get(&mark).value.value, 0.25, 0, 1e-12);
}

/* One draw whose ring finger clipped: the sum is a lower bound, the share unknown. */
static void test_an_unknown_draw(void **state)
{
    struct sh_limit_tally tally = {0};
    struct sh_shot_record record = make_draw(20.0, 25.0);
    struct sh_quantity value;
    bool is_least = false;
    *sh_catalog_get_mutable(&record.measures, SH_MEASURE_FINGER_IMPULSE, 2) =
        sh_quantity_unknown(SH_WHY_CLIPPED);
    *sh_catalog_get_mutable(&record.measures, SH_MEASURE_FINGER_PEAK, 2) =
        sh_quantity_unknown(SH_WHY_CLIPPED);
    sh_limit_tally_add(&tally, &record);
    struct sh_mark mark = make_limit("finger_impulse_n_s", "ring", "day");
    assert_true(sh_limit_tally_get(&mark, &record, &tally, &value, &is_least));
    assert_true(is_least);
    mark = make_limit("finger_impulse_n_s", "index", "day");
    assert_true(sh_limit_tally_get(&mark, &record, &tally, &value, &is_least));
    assert_false(is_least);
    mark = make_limit("finger_share", "index", "day");
    assert_true(sh_limit_tally_get(&mark, &record, &tally, &value, &is_least));
    assert_false(sh_quantity_is_known(&value));
    mark = make_limit("finger_peak_n", "ring", "session");
    assert_true(sh_limit_tally_get(&mark, &record, &tally, &value, &is_least));
    assert_true(is_least);
    mark = make_limit("finger_impulse_n_s", "", "shot");
    assert_true(sh_limit_tally_get(&mark, &record, &tally, &value, &is_least));
    assert_int_equal(value.why, SH_WHY_CLIPPED);
}

static void test_a_let_down_counts(void **state)
{
    struct sh_limit_tally tally = {0};
    struct sh_shot_record record = make_draw(20.0, 25.0);
    record.shot.kind = SH_SHOT_LET_DOWN;
    record.shot.event_s[SH_EVENT_RELEASE] = sh_quantity_unknown(SH_WHY_NOT_APPLICABLE);
    record.shot.event_s[SH_EVENT_LET_DOWN] = sh_quantity_known(24.0, 0.001);
    *sh_catalog_get_mutable(&record.measures, SH_MEASURE_FINGER_PEAK, 2) =
        sh_quantity_unknown(SH_WHY_NOT_APPLICABLE);
    sh_limit_tally_add(&tally, &record);
    assert_int_equal(tally.n_draws, 1);
    assert_near(tally.impulse_n_s[2].value, 100.0, 0, 0);
    assert_near(tally.end_s.value, 24.0, 0, 0);
    assert_int_equal(tally.peak_n[2].n_unknown, 0);
}

static void test_the_first_draw_follows_nothing(void **state)
{
    struct sh_limit_tally tally = {0};
    const struct sh_shot_record record = make_draw(20.0, 25.0);
    const struct sh_mark mark = make_limit("rest_s", "", "shot");
    struct sh_quantity value;
    bool is_least = false;
    sh_limit_tally_add(&tally, &record);
    assert_false(sh_limit_tally_get(&mark, &record, &tally, &value, &is_least));
    assert_false(sh_limit_tally_get(&mark, &record, NULL, &value, &is_least));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_values_of_each_kind),
        cmocka_unit_test(test_each_kind_at_its_limit),
        cmocka_unit_test(test_what_was_before),
        cmocka_unit_test(test_an_unknown_draw),
        cmocka_unit_test(test_a_let_down_counts),
        cmocka_unit_test(test_the_first_draw_follows_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
