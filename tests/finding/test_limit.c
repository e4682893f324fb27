/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "finding/limit.h"

#include <string.h>

#include "finding/one_shot.h"
#include "support/cmocka_all.h"
#include "support/near.h"

static const struct sh_mark ring_peak = {.kind = SH_MARK_LIMIT,
                                         .what = "finger_peak_n",
                                         .finger = "ring",
                                         .per = "shot",
                                         .most = {true, 45.0},
                                         .set_by = "hand clinic",
                                         .from = "2026-05-01",
                                         .until = "2026-06-01"};

static bool reaches(const struct sh_mark *mark, const char *date, double value, double u)
{
    struct sh_shot_record record = make_plain_shot();
    struct sh_finding finding;
    *sh_catalog_get_mutable(&record.measures, SH_MEASURE_FINGER_PEAK, 2) =
        sh_quantity_known(value, u);
    return sh_limit_find(mark, date, &record, NULL, &finding);
}

/* Value + 2 u at, below and above 45 N. */
static void test_at_most(void **state)
{
    assert_true(reaches(&ring_peak, "2026-05-14", 43.0, 1.0));
    assert_false(reaches(&ring_peak, "2026-05-14", 42.99, 1.0));
    assert_true(reaches(&ring_peak, "2026-05-14", 43.01, 1.0));
}

static void test_at_least(void **state)
{
    struct sh_mark mark = ring_peak;
    mark.most.is_given = false;
    mark.least = (struct sh_mark_number){true, 30.0};
    assert_true(reaches(&mark, "", 32.0, 1.0));
    assert_false(reaches(&mark, "", 32.01, 1.0));
}

static void test_only_while_in_force(void **state)
{
    assert_false(reaches(&ring_peak, "2026-04-30", 60.0, 1.0));
    assert_true(reaches(&ring_peak, "2026-05-01", 60.0, 1.0));
    assert_true(reaches(&ring_peak, "2026-06-01", 60.0, 1.0));
    assert_false(reaches(&ring_peak, "2026-06-02", 60.0, 1.0));
    struct sh_mark open = ring_peak;
    open.from[0] = '\0';
    open.until[0] = '\0';
    assert_true(reaches(&open, "1999-01-01", 60.0, 1.0));
}

static void test_other_marks_reach_nothing(void **state)
{
    struct sh_mark mark = ring_peak;
    mark.kind = SH_MARK_NOTE;
    assert_false(reaches(&mark, "", 60.0, 1.0));
    mark = ring_peak;
    (void)strcpy(mark.per, "day");
    assert_false(reaches(&mark, "", 60.0, 1.0));
    mark = ring_peak;
    (void)strcpy(mark.what, "finger_peek_n");
    assert_false(reaches(&mark, "", 60.0, 1.0));
    mark = ring_peak;
    (void)strcpy(mark.finger, "index");
    assert_false(reaches(&mark, "", 60.0, 1.0));
    mark.finger[0] = '\0';
    assert_false(reaches(&mark, "", 60.0, 1.0));
}

static void test_the_sentence(void **state)
{
    struct sh_shot_record record = make_plain_shot();
    struct sh_finding finding;
    *sh_catalog_get_mutable(&record.measures, SH_MEASURE_FINGER_PEAK, 2) =
        sh_quantity_known(47.5, 0.6);
    assert_true(sh_limit_find(&ring_peak, "", &record, NULL, &finding));
    assert_string_equal(finding.text,
                        "The limit of at most 45 N for finger peak force of the ring, set by "
                        "hand clinic was reached: 47.5 N, give or take 1.2 N (2 u).");
    assert_int_equal(finding.code, SH_CODE_FINGER_LIMIT);
    assert_int_equal(finding.basis, SH_CODE_BASIS_USER);
    assert_near(finding.threshold, 45.0, 0, 0);
}

/* A most of 45 N and a least of 30 N: below, at and above 80 % and the limit, with no doubt. */
static void test_states(void **state)
{
    struct sh_mark least = ring_peak;
    least.most.is_given = false;
    least.least = (struct sh_mark_number){true, 30.0};
    static const struct {
        bool is_most;
        double value;
        double u;
        enum sh_limit_state state;
    } cases[] = {
        {true, 35.99, 0.0, SH_LIMIT_INSIDE},  {true, 36.0, 0.0, SH_LIMIT_NEAR},
        {true, 44.99, 0.0, SH_LIMIT_NEAR},    {true, 45.0, 0.0, SH_LIMIT_REACHED},
        {true, 43.0, 1.0, SH_LIMIT_REACHED},  {true, 42.9, 1.0, SH_LIMIT_NEAR},
        {false, 37.6, 0.0, SH_LIMIT_INSIDE},  {false, 37.5, 0.0, SH_LIMIT_NEAR},
        {false, 30.1, 0.0, SH_LIMIT_NEAR},    {false, 30.0, 0.0, SH_LIMIT_REACHED},
        {false, 32.0, 1.0, SH_LIMIT_REACHED},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        const struct sh_quantity value = sh_quantity_known(cases[i].value, cases[i].u);
        assert_int_equal(sh_limit_judge(cases[i].is_most ? &ring_peak : &least, &value, false),
                         cases[i].state);
    }
}

/* What is unknown, or known from below only, is never inside. */
static void test_unknown_is_never_inside(void **state)
{
    const struct sh_quantity unknown = sh_quantity_unknown(SH_WHY_CLIPPED);
    const struct sh_quantity low = sh_quantity_known(1.0, 0.0);
    const struct sh_quantity near = sh_quantity_known(40.0, 0.0);
    const struct sh_quantity over = sh_quantity_known(46.0, 0.0);
    struct sh_mark least = ring_peak;
    least.most.is_given = false;
    least.least = (struct sh_mark_number){true, 30.0};
    assert_int_equal(sh_limit_judge(&ring_peak, &unknown, false), SH_LIMIT_UNKNOWN);
    assert_int_equal(sh_limit_judge(&ring_peak, &low, true), SH_LIMIT_UNKNOWN);
    assert_int_equal(sh_limit_judge(&ring_peak, &near, true), SH_LIMIT_NEAR);
    assert_int_equal(sh_limit_judge(&ring_peak, &over, true), SH_LIMIT_REACHED);
    assert_int_equal(sh_limit_judge(&least, &low, true), SH_LIMIT_UNKNOWN);
}

static void test_other_sentences(void **state)
{
    char text[SH_FINDING_TEXT_BYTES];
    const struct sh_mark share = {.kind = SH_MARK_LIMIT,
                                  .what = "finger_share",
                                  .finger = "ring",
                                  .per = "day",
                                  .most = {true, 0.25}};
    const struct sh_mark draws = {
        .kind = SH_MARK_LIMIT, .what = "draws", .per = "session", .most = {true, 60.0}};
    const struct sh_quantity a = sh_quantity_known(0.26, 0.005);
    const struct sh_quantity b = sh_quantity_known(48.0, 0.0);
    sh_limit_format(&share, SH_LIMIT_REACHED, &a, text);
    assert_string_equal(text, "The limit of at most 25 % for finger share of the ring in a day "
                              "was reached: 26 %, give or take 1 % (2 u).");
    sh_limit_format(&draws, SH_LIMIT_NEAR, &b, text);
    assert_string_equal(text, "The limit of at most 60 draws for number of draws in a session "
                              "was nearly reached: 48 draws.");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_at_most),
        cmocka_unit_test(test_at_least),
        cmocka_unit_test(test_only_while_in_force),
        cmocka_unit_test(test_other_marks_reach_nothing),
        cmocka_unit_test(test_the_sentence),
        cmocka_unit_test(test_states),
        cmocka_unit_test(test_unknown_is_never_inside),
        cmocka_unit_test(test_other_sentences),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
