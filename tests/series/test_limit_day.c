/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "series/limit_day.h"

#include <stdio.h>

#include "support/cmocka_all.h"

#define DAY 20000

/* A day of the list with one draw: impulses 200, 200, 100 N s, peaks 50, 50, 25 N, u 1 %. */
static struct sh_day_load *open_day(struct sh_day_load_list *list, bool has_draw)
{
    static const double impulse[SH_DAY_LOAD_FINGERS] = {200.0, 200.0, 100.0};
    struct sh_day_load_draw draw = {0};
    *list = (struct sh_day_load_list){0};
    assert_int_equal(sh_day_load_list_open(DAY, DAY, list), SH_OK);
    for (size_t i = 0; i < SH_DAY_LOAD_FINGERS; i++) {
        draw.impulse_n_s[i] = sh_quantity_known(impulse[i], 0.01 * impulse[i]);
        draw.peak_n[i] = sh_quantity_known(impulse[i] / 4.0, 0.0025 * impulse[i]);
    }
    if (has_draw) {
        sh_day_load_add_recording(&list->days[0], true);
        sh_day_load_add_draw(&list->days[0], &draw, 0.0);
    }
    return &list->days[0];
}

static enum sh_limit_day judge(const struct sh_person_limit *limit,
                               const struct sh_day_load_list *list)
{
    const double value = limit->most.is_given ? limit->most.value : limit->least.value;
    return sh_limit_day_judge(limit, value, &list->days[0]);
}

static struct sh_person_limit
make(const char *what, const char *finger, const char *per, double most)
{
    struct sh_person_limit limit = {.most = {true, most}};
    (void)snprintf(limit.what, sizeof limit.what, "%s", what);
    (void)snprintf(limit.finger, sizeof limit.finger, "%s", finger);
    (void)snprintf(limit.per, sizeof limit.per, "%s", per);
    return limit;
}

/* value + 2 u at the limit: 25 + 0.5 N, 500 + 10 N s, a share of 0.2, one draw. */
static void test_at_below_and_above(void **state)
{
    struct sh_day_load_list list;
    (void)open_day(&list, true);
    sh_day_load_list_settle(&list);
    const struct {
        struct sh_person_limit limit;
        enum sh_limit_day expected;
    } cases[] = {
        {make("finger_peak_n", "ring", "shot", 25.51), SH_LIMIT_DAY_INSIDE},
        {make("finger_peak_n", "ring", "shot", 25.49), SH_LIMIT_DAY_REACHED},
        {make("finger_peak_n", "ring", "session", 20.0), SH_LIMIT_DAY_REACHED},
        {make("finger_impulse_n_s", "", "day", 510.1), SH_LIMIT_DAY_INSIDE},
        {make("finger_impulse_n_s", "", "day", 509.9), SH_LIMIT_DAY_REACHED},
        {make("finger_impulse_n_s", "ring", "day", 101.9), SH_LIMIT_DAY_REACHED},
        {make("finger_impulse_n_s", "", "session", 1.0), SH_LIMIT_DAY_NONE},
        {make("finger_share", "ring", "day", 0.3), SH_LIMIT_DAY_INSIDE},
        {make("finger_share", "ring", "day", 0.2), SH_LIMIT_DAY_REACHED},
        {make("draws", "", "day", 2.0), SH_LIMIT_DAY_INSIDE},
        {make("draws", "", "day", 1.0), SH_LIMIT_DAY_REACHED},
        {make("rest_s", "", "shot", 1.0), SH_LIMIT_DAY_NONE},
        {make("hold_time_s", "", "shot", 1.0), SH_LIMIT_DAY_NONE},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        assert_int_equal(judge(&cases[i].limit, &list), cases[i].expected);
    }
    sh_day_load_list_close(&list);
}

/* Draws without a force: what is known may reach a limit, and else nobody knows. */
static void test_what_is_not_known(void **state)
{
    const struct sh_person_limit tight = make("finger_impulse_n_s", "", "day", 400.0);
    const struct sh_person_limit wide = make("finger_impulse_n_s", "", "day", 4000.0);
    const struct sh_person_limit peak = make("finger_peak_n", "ring", "shot", 60.0);
    const struct sh_person_limit share = make("finger_share", "ring", "day", 0.9);
    const struct sh_person_limit draws = make("draws", "", "day", 40.0);
    struct sh_day_load_list list;
    sh_day_load_add_by_hand(open_day(&list, true), 60, 0.0);
    sh_day_load_list_settle(&list);
    assert_int_equal(judge(&tight, &list), SH_LIMIT_DAY_REACHED);
    assert_int_equal(judge(&wide, &list), SH_LIMIT_DAY_UNKNOWN);
    assert_int_equal(judge(&peak, &list), SH_LIMIT_DAY_UNKNOWN);
    assert_int_equal(judge(&share, &list), SH_LIMIT_DAY_UNKNOWN);
    assert_int_equal(judge(&draws, &list), SH_LIMIT_DAY_REACHED);
    sh_day_load_add_recording(&list.days[0], false);
    const struct sh_person_limit many = make("draws", "", "day", 400.0);
    assert_int_equal(judge(&many, &list), SH_LIMIT_DAY_UNKNOWN);
    sh_day_load_list_close(&list);
}

/* Of an unknown day nothing is known; on a day of rest nothing is carried. */
static void test_days_without_draws(void **state)
{
    const struct sh_person_limit draws = make("draws", "", "day", 40.0);
    struct sh_day_load_list list;
    (void)open_day(&list, false);
    sh_day_load_list_settle(&list);
    assert_int_equal(judge(&draws, &list), SH_LIMIT_DAY_UNKNOWN);
    sh_day_load_list_set_rest(&list, DAY);
    sh_day_load_list_settle(&list);
    assert_int_equal(judge(&draws, &list), SH_LIMIT_DAY_NONE);
    sh_day_load_list_close(&list);
}

/* A lower limit: value - 2 u, and only where all is known. */
static void test_a_least(void **state)
{
    struct sh_person_limit least = make("finger_share", "ring", "day", 0.0);
    struct sh_day_load_list list;
    least.most.is_given = false;
    least.least.is_given = true;
    least.least.value = 0.15;
    (void)open_day(&list, true);
    sh_day_load_list_settle(&list);
    assert_int_equal(judge(&least, &list), SH_LIMIT_DAY_INSIDE);
    least.least.value = 0.2;
    assert_int_equal(judge(&least, &list), SH_LIMIT_DAY_REACHED);
    sh_day_load_add_by_hand(&list.days[0], 1, 0.0);
    sh_day_load_list_settle(&list);
    assert_int_equal(judge(&least, &list), SH_LIMIT_DAY_UNKNOWN);
    sh_day_load_list_close(&list);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_at_below_and_above),
        cmocka_unit_test(test_what_is_not_known),
        cmocka_unit_test(test_days_without_draws),
        cmocka_unit_test(test_a_least),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
