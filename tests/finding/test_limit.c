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
    return sh_limit_find(mark, date, &record.measures, &finding);
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
    assert_true(sh_limit_find(&ring_peak, "", &record.measures, &finding));
    assert_string_equal(finding.text,
                        "The limit of at most 45 N for finger peak force of the ring, set by "
                        "hand clinic was reached: 47.5 N, give or take 1.2 (2 u).");
    assert_int_equal(finding.code, SH_CODE_FINGER_LIMIT);
    assert_int_equal(finding.basis, SH_CODE_BASIS_USER);
    assert_near(finding.threshold, 45.0, 0, 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_at_most),
        cmocka_unit_test(test_at_least),
        cmocka_unit_test(test_only_while_in_force),
        cmocka_unit_test(test_other_marks_reach_nothing),
        cmocka_unit_test(test_the_sentence),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
