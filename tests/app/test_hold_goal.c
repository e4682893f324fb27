/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/hold_goal.h"

#include <math.h>

#include "app/diary_home.h"
#include "recording/person_json.h"
#include "support/cmocka_all.h"
#include "support/near.h"

static const struct sh_hold_goal wanted = {
    .is_set = true, .band = {2.0, 3.25}, .set_by = "at the line"};

static void test_a_goal_comes_back(void **state)
{
    struct scratch home;
    struct sh_error err = {0};
    struct sh_hold_goal later = wanted;
    struct sh_person person = {0};
    scratch_open(&home);
    diary_home_make(&home);
    assert_false(sh_hold_goal_read(home.folder, "wren").is_set);
    assert_int_equal(sh_hold_goal_write(home.folder, "wren", &wanted, &err), SH_OK);
    later.band.most_s = 4.0;
    assert_int_equal(sh_hold_goal_write(home.folder, "wren", &later, &err), SH_OK);
    const struct sh_hold_goal got = sh_hold_goal_read(home.folder, "wren");
    assert_true(got.is_set);
    assert_near(got.band.least_s, 2.0, 0, 0);
    assert_near(got.band.most_s, 4.0, 0, 0);
    assert_string_equal(got.set_by, "at the line");
    assert_false(sh_hold_goal_read(home.folder, "rook").is_set);
    assert_int_equal(sh_person_json_read(home.folder, "wren", &person, NULL, &err), SH_OK);
    assert_int_equal(person.n_goals, 2); /* the first stays, with its end */
    assert_string_not_equal(person.goals[0].ended_on, "");
    assert_string_equal(person.goals[1].ended_on, "");
    assert_string_equal(person.goals[1].what, "hold_time_s");
    sh_person_close(&person);
    scratch_close(&home);
}

static void test_a_goal_ends(void **state)
{
    const struct sh_hold_goal none = {.is_set = false};
    struct scratch home;
    struct sh_error err = {0};
    scratch_open(&home);
    diary_home_make(&home);
    assert_int_equal(sh_hold_goal_write(home.folder, "wren", &none, &err), SH_ERR_NOT_FOUND);
    assert_int_equal(sh_hold_goal_write(home.folder, "wren", &wanted, NULL), SH_OK);
    assert_int_equal(sh_hold_goal_write(home.folder, "wren", &none, NULL), SH_OK);
    assert_false(sh_hold_goal_read(home.folder, "wren").is_set);
    scratch_close(&home);
}

static void test_no_band_and_nobody(void **state)
{
    const struct sh_goal_band wrong[] = {
        {3.0, 3.0}, {0.0, 2.0}, {2.0, SH_HOLD_GOAL_MAX_S + 0.1}, {(double)NAN, 2.0}};
    struct scratch home;
    scratch_open(&home);
    diary_home_make(&home);
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
        struct sh_error err = {0};
        const struct sh_hold_goal goal = {.is_set = true, .band = wrong[i]};
        assert_int_equal(sh_hold_goal_write(home.folder, "wren", &goal, &err), SH_ERR_ARGUMENT);
        assert_string_not_equal(err.todo, "");
    }
    assert_int_equal(sh_hold_goal_write(home.folder, "", &wanted, NULL), SH_ERR_ARGUMENT);
    assert_false(sh_hold_goal_read(home.folder, "wren").is_set);
    assert_false(sh_hold_goal_read(home.folder, "").is_set);
    scratch_close(&home);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_a_goal_comes_back),
        cmocka_unit_test(test_a_goal_ends),
        cmocka_unit_test(test_no_band_and_nobody),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
