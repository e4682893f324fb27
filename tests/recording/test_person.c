/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "recording/person.h"

#include <stdio.h>
#include <string.h>

#include "support/cmocka_all.h"

static void test_entries_stay_in_their_order(void **state)
{
    struct sh_person person = {0};
    for (unsigned i = 0; i < 100; i++) {
        struct sh_person_draws draws = {.draws = i};
        struct sh_person_rest rest = {0};
        (void)snprintf(rest.date, sizeof rest.date, "2026-05-%02u", i);
        assert_int_equal(sh_person_add_draws(&person, &draws), SH_OK);
        assert_int_equal(sh_person_add_rest(&person, &rest), SH_OK);
    }
    const struct sh_person_limit limit = {.what = "draws"};
    const struct sh_person_rating rating = {.rating = 3.0};
    const struct sh_person_confirmation confirmation = {.by = "clinic"};
    assert_int_equal(sh_person_add_limit(&person, &limit), SH_OK);
    assert_int_equal(sh_person_add_rating(&person, &rating), SH_OK);
    assert_int_equal(sh_person_add_confirmation(&person, &confirmation), SH_OK);
    assert_int_equal(person.n_draws, 100);
    assert_int_equal(person.n_rests, 100);
    assert_int_equal(person.draws[99].draws, 99);
    assert_string_equal(person.rests[42].date, "2026-05-42");
    assert_string_equal(person.limits[0].what, "draws");
    assert_string_equal(person.confirmations[0].by, "clinic");
    assert_int_equal(person.n_ratings, 1);
    sh_person_close(&person);
    assert_int_equal(person.n_draws, 0);
    assert_null(person.draws);
    sh_person_close(&person);
}

static void test_a_list_has_an_end(void **state)
{
    void *items = NULL;
    assert_int_equal(sh_person_grow(&items, SH_PERSON_ENTRIES_MAX, 1), SH_ERR_FULL);
    assert_null(items);
}

static void test_the_goal_in_force(void **state)
{
    struct sh_person person = {0};
    const struct sh_person_goal old = {
        .what = "hold_time_s", .least = 1.0, .most = 2.0, .ended_on = "2026-05-14"};
    const struct sh_person_goal now = {.what = "hold_time_s", .least = 2.0, .most = 3.0};
    const struct sh_person_goal other = {.what = "draw_time_s", .least = 1.0, .most = 1.5};
    assert_null(sh_person_find_goal(&person, "hold_time_s"));
    assert_int_equal(sh_person_add_goal(&person, &old), SH_OK);
    assert_null(sh_person_find_goal(&person, "hold_time_s"));
    assert_int_equal(sh_person_add_goal(&person, &now), SH_OK);
    assert_int_equal(sh_person_add_goal(&person, &other), SH_OK);
    assert_ptr_equal(sh_person_find_goal(&person, "hold_time_s"), &person.goals[1]);
    sh_person_close(&person);
    assert_null(person.goals);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_entries_stay_in_their_order),
        cmocka_unit_test(test_a_list_has_an_end),
        cmocka_unit_test(test_the_goal_in_force),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
