/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "series/day_load.h"

#include <math.h>

#include "support/cmocka_all.h"
#include "support/near.h"

#define DAY 20000

static struct sh_day_load_draw make_draw(double index, double middle, double ring)
{
    const double impulse[SH_DAY_LOAD_FINGERS] = {index, middle, ring};
    struct sh_day_load_draw draw = {0};
    for (size_t i = 0; i < SH_DAY_LOAD_FINGERS; i++) {
        draw.impulse_n_s[i] = sh_quantity_known(impulse[i], 0.01 * impulse[i]);
        draw.peak_n[i] = sh_quantity_known(impulse[i] / 4.0, 0.1);
    }
    return draw;
}

static struct sh_day_load_list open_list(void)
{
    struct sh_day_load_list list = {0};
    assert_int_equal(sh_day_load_list_open(DAY, DAY + 9, &list), SH_OK);
    return list;
}

static enum sh_day_load_kind get_kind(struct sh_day_load_list *list, int day)
{
    sh_day_load_list_settle(list);
    return sh_day_load_get_kind(sh_day_load_list_find(list, day));
}

static double get_known(struct sh_quantity quantity)
{
    assert_true(sh_quantity_is_known(&quantity));
    return quantity.value;
}

static enum sh_why get_why(struct sh_quantity quantity)
{
    return quantity.why;
}

static void test_a_measured_day(void **state)
{
    struct sh_day_load_list list = open_list();
    struct sh_day_load *day = sh_day_load_list_find(&list, DAY + 2);
    const struct sh_day_load_draw shot = make_draw(200.0, 200.0, 100.0);
    struct sh_day_load_draw let_down = make_draw(80.0, 80.0, 40.0);
    let_down.is_let_down = true;
    for (size_t i = 0; i < SH_DAY_LOAD_FINGERS; i++) {
        let_down.peak_n[i] = sh_quantity_unknown(SH_WHY_NOT_APPLICABLE);
    }
    sh_day_load_add_recording(day, true);
    sh_day_load_add_draw(day, &shot, 50.0);
    sh_day_load_add_draw(day, &let_down, 50.0);
    assert_int_equal(get_kind(&list, DAY + 2), SH_DAY_LOAD_MEASURED);
    assert_int_equal(day->n_draws, 2);
    assert_int_equal(day->n_let_downs, 1);
    assert_near(get_known(sh_day_load_get_draws(day)), 2.0, 0, 0);
    assert_near(get_known(sh_day_load_get_impulse_n_s(day, 2)), 140.0, 0, 1e-15);
    struct sh_quantity sum = sh_day_load_get_impulse_n_s(day, SH_DAY_LOAD_FINGERS);
    assert_near(sum.value, 700.0, 0, 1e-15);
    assert_near(sum.u, 7.0, 0, 1e-12);
    assert_near(day->peak_n[0].value, 50.0, 0, 0);
    assert_int_equal(day->n_peaks[0], 1);
    assert_int_equal(day->n_above[0], 1); /* at the level */
    assert_int_equal(day->n_above[2], 0);
    sh_day_load_list_close(&list);
}

/* Below, at and above the level. */
static void test_draws_above_a_level(void **state)
{
    struct sh_day_load_list list = open_list();
    struct sh_day_load *day = sh_day_load_list_find(&list, DAY);
    const struct sh_day_load_draw draw = make_draw(200.0, 200.4, 199.6);
    sh_day_load_add_draw(day, &draw, 50.0);
    assert_int_equal(day->n_above[0], 1);
    assert_int_equal(day->n_above[1], 1);
    assert_int_equal(day->n_above[2], 0);
    sh_day_load_add_draw(day, &draw, 0.0); /* no level, nothing counted */
    assert_int_equal(day->n_above[0], 1);
    assert_int_equal(day->n_peaks[0], 2);
    sh_day_load_list_close(&list);
}

static void test_the_share_of_a_finger(void **state)
{
    struct sh_day_load_list list = open_list();
    struct sh_day_load *day = sh_day_load_list_find(&list, DAY);
    const struct sh_day_load_draw draw = make_draw(200.0, 200.0, 100.0);
    sh_day_load_add_draw(day, &draw, 0.0);
    sh_day_load_list_settle(&list);
    struct sh_quantity share = sh_day_load_get_share(day, 2);
    assert_near(share.value, 0.2, 0, 1e-15);
    assert_near(share.u, hypot(0.8 * 1.0, 0.2 * hypot(2.0, 2.0)) / 500.0, 0, 1e-12);
    struct sh_day_load *rest = sh_day_load_list_find(&list, DAY + 1);
    sh_day_load_list_set_rest(&list, DAY + 1);
    sh_day_load_list_settle(&list);
    assert_int_equal(get_why(sh_day_load_get_share(rest, 2)), SH_WHY_NOT_APPLICABLE);
    sh_day_load_list_close(&list);
}

static void test_a_day_said_to_be_rest(void **state)
{
    struct sh_day_load_list list = open_list();
    struct sh_day_load *day = sh_day_load_list_find(&list, DAY + 1);
    sh_day_load_list_set_rest(&list, DAY + 1);
    sh_day_load_list_set_rest(&list, DAY - 1); /* outside: nothing */
    sh_day_load_list_set_rest(&list, DAY + 10);
    assert_int_equal(get_kind(&list, DAY + 1), SH_DAY_LOAD_REST);
    assert_near(get_known(sh_day_load_get_impulse_n_s(day, 0)), 0.0, 0, 0);
    assert_near(get_known(sh_day_load_get_draws(day)), 0.0, 0, 0);
    const struct sh_day_load_draw draw = make_draw(1.0, 1.0, 1.0);
    sh_day_load_add_draw(day, &draw, 0.0); /* what was drawn goes before what was said */
    assert_int_equal(get_kind(&list, DAY + 1), SH_DAY_LOAD_MEASURED);
    sh_day_load_list_close(&list);
}

static void test_a_day_of_which_nobody_said_anything(void **state)
{
    struct sh_day_load_list list = open_list();
    const struct sh_day_load *day = sh_day_load_list_find(&list, DAY);
    assert_int_equal(get_kind(&list, DAY), SH_DAY_LOAD_UNKNOWN);
    assert_int_equal(get_why(sh_day_load_get_impulse_n_s(day, 0)), SH_WHY_NOT_GIVEN);
    assert_int_equal(get_why(sh_day_load_get_draws(day)), SH_WHY_NOT_GIVEN);
    sh_day_load_list_close(&list);
}

/* Draws without force: their number is known, what the fingers carried is not. */
static void test_unmeasured_days(void **state)
{
    struct sh_day_load_list list = open_list();
    struct sh_day_load *by_hand = sh_day_load_list_find(&list, DAY);
    struct sh_day_load *both = sh_day_load_list_find(&list, DAY + 1);
    struct sh_day_load *string_only = sh_day_load_list_find(&list, DAY + 2);
    const struct sh_day_load_draw draw = make_draw(200.0, 200.0, 100.0);
    struct sh_day_load_draw bare = {0};
    for (size_t i = 0; i < SH_DAY_LOAD_FINGERS; i++) {
        bare.impulse_n_s[i] = sh_quantity_unknown(SH_WHY_NO_CHANNEL);
    }
    sh_day_load_add_by_hand(by_hand, 60, 160.0);
    sh_day_load_add_draw(both, &draw, 0.0);
    sh_day_load_add_by_hand(both, 12, 0.0);
    sh_day_load_add_draw(string_only, &bare, 0.0);
    for (int i = 0; i < 3; i++) {
        assert_int_equal(get_kind(&list, DAY + i), SH_DAY_LOAD_UNMEASURED);
    }
    assert_near(get_known(sh_day_load_get_draws(by_hand)), 60.0, 0, 0);
    assert_near(get_known(sh_day_load_get_draws(both)), 13.0, 0, 0);
    assert_near(by_hand->added_weight_n, 160.0, 0, 0);
    assert_int_equal(get_why(sh_day_load_get_impulse_n_s(by_hand, 0)), SH_WHY_NO_CHANNEL);
    assert_int_equal(get_why(sh_day_load_get_impulse_n_s(both, 3)), SH_WHY_NO_CHANNEL);
    assert_near(both->sum_n_s.value, 500.0, 0, 0); /* at least so much */
    assert_int_equal(get_why(sh_day_load_get_share(both, 2)), SH_WHY_NO_CHANNEL);
    sh_day_load_list_close(&list);
}

static void test_a_recording_that_could_not_be_read(void **state)
{
    struct sh_day_load_list list = open_list();
    struct sh_day_load *day = sh_day_load_list_find(&list, DAY);
    sh_day_load_add_recording(day, false);
    assert_int_equal(get_kind(&list, DAY), SH_DAY_LOAD_UNMEASURED);
    assert_int_equal(get_why(sh_day_load_get_draws(day)), SH_WHY_UNRESOLVED);
    assert_int_equal(get_why(sh_day_load_get_impulse_n_s(day, 1)), SH_WHY_UNRESOLVED);
    sh_day_load_list_close(&list);
}

/* One clipped draw and the day's sum is unknown; it is a measured day all the same. */
static void test_a_draw_that_clipped(void **state)
{
    struct sh_day_load_list list = open_list();
    struct sh_day_load *day = sh_day_load_list_find(&list, DAY);
    struct sh_day_load_draw draw = make_draw(200.0, 200.0, 100.0);
    sh_day_load_add_draw(day, &draw, 0.0);
    draw.impulse_n_s[2] = sh_quantity_unknown(SH_WHY_CLIPPED);
    sh_day_load_add_draw(day, &draw, 0.0);
    assert_int_equal(get_kind(&list, DAY), SH_DAY_LOAD_MEASURED);
    assert_near(get_known(sh_day_load_get_impulse_n_s(day, 0)), 400.0, 0, 0);
    assert_int_equal(get_why(sh_day_load_get_impulse_n_s(day, 2)), SH_WHY_CLIPPED);
    assert_int_equal(get_why(sh_day_load_get_impulse_n_s(day, 3)), SH_WHY_CLIPPED);
    assert_near(day->impulse_n_s[2].value, 100.0, 0, 0);
    sh_day_load_list_close(&list);
}

static void test_a_week(void **state)
{
    struct sh_day_load_list list = open_list();
    struct sh_day_load week = {0};
    const struct sh_day_load_draw draw = make_draw(200.0, 200.0, 100.0);
    sh_day_load_add_draw(sh_day_load_list_find(&list, DAY), &draw, 0.0);
    sh_day_load_add_draw(sh_day_load_list_find(&list, DAY + 2), &draw, 0.0);
    for (int i = 1; i < 7; i++) {
        if (i != 2) {
            sh_day_load_list_set_rest(&list, DAY + i);
        }
    }
    sh_day_load_list_settle(&list);
    for (int i = 0; i < 7; i++) {
        sh_day_load_add_day(&week, sh_day_load_list_find(&list, DAY + i));
    }
    assert_int_equal(week.n_days_of[SH_DAY_LOAD_MEASURED], 2);
    assert_int_equal(week.n_days_of[SH_DAY_LOAD_REST], 5);
    assert_near(get_known(sh_day_load_get_impulse_n_s(&week, 3)), 1000.0, 0, 0);
    assert_near(week.peak_n[1].value, 50.0, 0, 0);
    sh_day_load_add_day(&week, sh_day_load_list_find(&list, DAY + 7)); /* unknown */
    assert_int_equal(get_why(sh_day_load_get_impulse_n_s(&week, 3)), SH_WHY_NOT_GIVEN);
    assert_near(week.sum_n_s.value, 1000.0, 0, 0);
    sh_day_load_list_close(&list);
}

static void test_lists_that_are_none(void **state)
{
    struct sh_day_load_list list = {0};
    assert_int_equal(sh_day_load_list_open(5, 4, &list), SH_ERR_ARGUMENT);
    assert_int_equal(sh_day_load_list_open(0, (int)SH_DAY_LOAD_DAYS_MAX, &list), SH_ERR_FULL);
    assert_int_equal(sh_day_load_list_open(1, (int)SH_DAY_LOAD_DAYS_MAX, &list), SH_OK);
    assert_null(sh_day_load_list_find(&list, 0));
    assert_null(sh_day_load_list_find(&list, (int)SH_DAY_LOAD_DAYS_MAX + 1));
    assert_non_null(sh_day_load_list_find(&list, (int)SH_DAY_LOAD_DAYS_MAX));
    sh_day_load_list_close(&list);
    sh_day_load_list_close(&list);
}

static void test_names(void **state)
{
    assert_string_equal(sh_day_load_kind_name(SH_DAY_LOAD_UNKNOWN), "unknown");
    assert_string_equal(sh_day_load_kind_name(SH_DAY_LOAD_MEASURED), "measured");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_a_measured_day),
        cmocka_unit_test(test_draws_above_a_level),
        cmocka_unit_test(test_the_share_of_a_finger),
        cmocka_unit_test(test_a_day_said_to_be_rest),
        cmocka_unit_test(test_a_day_of_which_nobody_said_anything),
        cmocka_unit_test(test_unmeasured_days),
        cmocka_unit_test(test_a_recording_that_could_not_be_read),
        cmocka_unit_test(test_a_draw_that_clipped),
        cmocka_unit_test(test_a_week),
        cmocka_unit_test(test_lists_that_are_none),
        cmocka_unit_test(test_names),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
