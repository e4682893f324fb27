/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "series/limit_plan.h"

#include "base/day.h"
#include "support/cmocka_all.h"
#include "support/near.h"

/* 45 N from a Friday on for four weeks and two days, 2.5 N more each week. */
static const struct sh_person_limit rising = {.what = "finger_peak_n",
                                              .finger = "ring",
                                              .per = "shot",
                                              .most = {true, 45.0},
                                              .weekly_step = {true, 2.5},
                                              .from = "2026-05-01",
                                              .until = "2026-05-31"};

static int get(const char *date)
{
    int day = 0;
    assert_true(sh_day_parse(date, &day));
    return day;
}

static struct sh_limit_plan find(const struct sh_person_limit *limit,
                                 const char *date,
                                 const char *trouble,
                                 const char *confirmed)
{
    const int trouble_day = trouble != NULL ? get(trouble) : 0;
    const int confirmed_day = confirmed != NULL ? get(confirmed) : 0;
    const struct sh_limit_plan_history history = {&trouble_day, trouble != NULL ? 1 : 0,
                                                  &confirmed_day, confirmed != NULL ? 1 : 0};
    struct sh_limit_plan plan;
    sh_limit_plan_find(limit, &history, get(date), &plan);
    return plan;
}

static void test_from_its_first_day_to_its_last(void **state)
{
    assert_false(find(&rising, "2026-04-30", NULL, NULL).is_in_force);
    assert_true(find(&rising, "2026-05-01", NULL, NULL).is_in_force);
    assert_true(find(&rising, "2026-05-31", NULL, NULL).is_in_force);
    assert_false(find(&rising, "2026-06-01", NULL, NULL).is_in_force);
    struct sh_person_limit open = rising;
    open.from[0] = '\0';
    open.until[0] = '\0';
    open.weekly_step.is_given = false;
    assert_true(find(&open, "1999-01-01", NULL, NULL).is_in_force);
    open.from[0] = 'x';
    assert_false(find(&open, "1999-01-01", NULL, NULL).is_in_force);
}

static void test_a_step_each_week(void **state)
{
    struct sh_limit_plan plan = find(&rising, "2026-05-07", NULL, NULL);
    assert_near(plan.value, 45.0, 0, 0);
    assert_true(plan.has_next);
    assert_int_equal(plan.next_day, get("2026-05-08"));
    plan = find(&rising, "2026-05-08", NULL, NULL);
    assert_near(plan.value, 47.5, 0, 0);
    assert_int_equal(plan.n_steps, 1);
    plan = find(&rising, "2026-05-31", NULL, NULL);
    assert_near(plan.value, 55.0, 0, 0);
    assert_false(plan.has_next);
    assert_false(plan.is_waiting);
}

/* Trouble on the 6th: the step of the 8th waits; confirmed on the 10th it comes then, and the
 * next a week later. */
static void test_a_step_waits_for_a_person(void **state)
{
    struct sh_limit_plan plan = find(&rising, "2026-05-07", "2026-05-06", NULL);
    assert_false(plan.is_waiting); /* none is due */
    plan = find(&rising, "2026-05-20", "2026-05-06", NULL);
    assert_true(plan.is_waiting);
    assert_near(plan.value, 45.0, 0, 0);
    plan = find(&rising, "2026-05-09", "2026-05-06", "2026-05-10");
    assert_true(plan.is_waiting);
    plan = find(&rising, "2026-05-10", "2026-05-06", "2026-05-10");
    assert_false(plan.is_waiting);
    assert_near(plan.value, 47.5, 0, 0);
    assert_int_equal(plan.next_day, get("2026-05-17"));
    plan = find(&rising, "2026-05-17", "2026-05-06", "2026-05-10");
    assert_near(plan.value, 50.0, 0, 0);
}

/* On the day of the step itself, before the limit began, and confirmed on the same day. */
static void test_when_trouble_counts(void **state)
{
    assert_true(find(&rising, "2026-05-08", "2026-05-08", NULL).is_waiting);
    assert_false(find(&rising, "2026-05-08", "2026-05-09", NULL).is_waiting);
    assert_false(find(&rising, "2026-05-08", "2026-04-30", NULL).is_waiting);
    assert_true(find(&rising, "2026-05-08", "2026-05-01", NULL).is_waiting);
    assert_true(find(&rising, "2026-05-08", "2026-05-06", "2026-05-06").is_waiting);
    assert_false(find(&rising, "2026-05-08", "2026-05-06", "2026-05-07").is_waiting);
    assert_true(find(&rising, "2026-05-08", "2026-05-06", "2026-05-05").is_waiting);
}

/* The rest between draws gets shorter: a loosening step, which waits. Tightening ones do not.
 */
static void test_which_steps_wait(void **state)
{
    struct sh_person_limit rest = rising;
    rest.most.is_given = false;
    rest.least = (struct sh_mark_number){true, 60.0};
    rest.weekly_step.value = -5.0;
    assert_true(find(&rest, "2026-05-08", "2026-05-06", NULL).is_waiting);
    assert_near(find(&rest, "2026-05-08", NULL, NULL).value, 55.0, 0, 0);
    rest.weekly_step.value = 5.0;
    assert_near(find(&rest, "2026-05-08", "2026-05-06", NULL).value, 65.0, 0, 0);
    struct sh_person_limit falling = rising;
    falling.weekly_step.value = -40.0;
    assert_near(find(&falling, "2026-05-08", "2026-05-06", NULL).value, 5.0, 0, 0);
    assert_near(find(&falling, "2026-05-15", "2026-05-06", NULL).value, 0.0, 0, 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_from_its_first_day_to_its_last),
        cmocka_unit_test(test_a_step_each_week),
        cmocka_unit_test(test_a_step_waits_for_a_person),
        cmocka_unit_test(test_when_trouble_counts),
        cmocka_unit_test(test_which_steps_wait),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
