/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/diary.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "app/diary_home.h"
#include "base/day.h"
#include "support/cmocka_all.h"
#include "support/near.h"

/*
 * wren: two recordings on the 12th (one with a rating and a limit that was reached), one
 * without finger channels late on the 13th by UTC, which is the 14th where it was made; one
 * that lost its samples on the 15th. rook: one. And a folder that is a broken recording.
 */
static const struct sh_mark marks[] = {
    {.t_s = 1.0, .kind = SH_MARK_PAIN, .when = "during", .rating = {true, 2.0}},
    {.t_s = 2.0, .kind = SH_MARK_LIMIT_REACHED, .what = "draws", .text = "reached"},
};
static const struct diary_home_recording recordings[] = {
    {"a", "wren", "2026-05-12T09:30:00.000Z", 120, "morning", NULL, 2, 1, marks, 2},
    {"b", "wren", "2026-05-12T16:30:00.000Z", 120, "evening", NULL, 1, 2, NULL, 0},
    {"c", "wren", "2026-05-13T22:30:00.000Z", 120, NULL, "force_bow", 2, 3, NULL, 0},
    {"d", "rook", "2026-05-12T09:30:00.000Z", 120, NULL, NULL, 1, 4, NULL, 0},
    {"e", "wren", "2026-05-15T09:30:00.000Z", 120, NULL, NULL, 1, 5, NULL, 0},
};

static int get(const char *date)
{
    int day = 0;
    assert_true(sh_day_parse(date, &day));
    return day;
}

static int open_home(void **state)
{
    char path[SCRATCH_PATH_BYTES];
    struct sh_person person = {.name = "wren"};
    const struct sh_person_rating rating = {
        .date = "2026-05-11", .when = "after", .rating = 1.0};
    const struct sh_person_draws draws = {
        .date = "2026-05-10", .draws = 60, .draw_weight_n = {true, 160.0}};
    const struct sh_person_rest rest = {.date = "2026-05-11"};
    const struct sh_person_confirmation confirmation = {.on = "2026-05-13", .by = "clinic"};
    (void)scratch_set_up(state);
    const struct scratch *home = *state;
    diary_home_make(home);
    for (size_t i = 0; i < sizeof recordings / sizeof recordings[0]; i++) {
        diary_home_record(home, &recordings[i]);
    }
    scratch_path(home, "recordings/e/fingers.wav", path);
    assert_int_equal(remove(path), 0);
    scratch_path(home, "recordings/broken", path);
    assert_int_equal(mkdir(path, 0700), 0);
    scratch_path(home, "recordings/broken/recording.json", path);
    scratch_write(path, "{", 1);
    assert_int_equal(sh_person_add_rating(&person, &rating), SH_OK);
    assert_int_equal(sh_person_add_draws(&person, &draws), SH_OK);
    assert_int_equal(sh_person_add_rest(&person, &rest), SH_OK);
    assert_int_equal(sh_person_add_confirmation(&person, &confirmation), SH_OK);
    diary_home_write_person(home, &person);
    sh_person_close(&person);
    return 0;
}

static struct sh_diary read_diary(const struct scratch *home, const char *athlete)
{
    const struct sh_diary_config config = {
        .home = home->folder, .athlete = athlete, .with_draws = true, .may_analyze = true};
    struct sh_diary diary;
    struct sh_error err = {0};
    assert_int_equal(sh_diary_read(&config, &diary, &err), SH_OK);
    return diary;
}

static void test_what_is_read(void **state)
{
    struct sh_diary diary = read_diary(*state, "wren");
    assert_int_equal(diary.n_recordings, 4);
    assert_string_equal(diary.recordings[0].name, "a");
    assert_string_equal(diary.recordings[1].session, "evening");
    assert_int_equal(diary.recordings[0].draws.n_draws, 2);
    assert_true(diary.recordings[0].was_read);
    assert_int_equal(diary.recordings[2].day, get("2026-05-14"));
    assert_false(diary.recordings[3].was_read);
    assert_true(diary.recordings[0].sensor[2].has_channel);
    assert_true(diary.recordings[0].sensor[2].u_ratio > 0.0);
    assert_false(diary.recordings[2].sensor[0].has_channel);
    assert_non_null(strstr(diary.warnings.data, "broken/recording.json"));
    assert_non_null(strstr(diary.warnings.data, "recordings/e"));
    sh_diary_close(&diary);
    sh_diary_close(&diary);
}

/* The 2 of the 12th is above the 1 of the 11th: trouble, and the limit reached is too. */
static void test_ratings_and_trouble(void **state)
{
    struct sh_diary diary = read_diary(*state, "wren");
    assert_int_equal(diary.n_ratings, 2);
    assert_near(diary.ratings[0].rating, 1.0, 0, 0);
    assert_int_equal(diary.ratings[1].day, get("2026-05-12"));
    const struct sh_limit_plan_history history = sh_diary_get_plan_history(&diary);
    assert_int_equal(history.n_trouble, 2);
    assert_int_equal(history.trouble[0], get("2026-05-12"));
    assert_int_equal(history.trouble[1], get("2026-05-12"));
    assert_int_equal(history.n_confirmed, 1);
    assert_int_equal(history.confirmed[0], get("2026-05-13"));
    sh_diary_close(&diary);
}

/* Draws added by hand may pass a limit of a day though nothing was captured: 30 and 30 of 60,
 * at the limit; 59 are below it. */
static void test_draws_by_hand_pass_a_limit(void **state)
{
    const struct scratch *home = *state;
    struct sh_person person = {.name = "plover"};
    const struct sh_person_limit limit = {
        .what = "draws", .per = "day", .most = {true, 60.0}, .from = "2026-05-01"};
    const struct sh_person_draws draws[] = {{.date = "2026-05-02", .draws = 30},
                                            {.date = "2026-05-03", .draws = 59},
                                            {.date = "2026-05-02", .draws = 30},
                                            {.date = "2026-04-30", .draws = 90}};
    assert_int_equal(sh_person_add_limit(&person, &limit), SH_OK);
    for (size_t i = 0; i < 4; i++) {
        assert_int_equal(sh_person_add_draws(&person, &draws[i]), SH_OK);
    }
    diary_home_write_person(home, &person);
    sh_person_close(&person);
    struct sh_diary diary = read_diary(home, "plover");
    const struct sh_limit_plan_history history = sh_diary_get_plan_history(&diary);
    assert_true(history.n_trouble > 0);
    for (size_t i = 0; i < history.n_trouble; i++) {
        assert_int_equal(history.trouble[i], get("2026-05-02"));
    }
    sh_diary_close(&diary);
}

static void test_each_kind_of_day(void **state)
{
    static const struct {
        const char *date;
        enum sh_day_load_kind kind;
        size_t n_draws;
    } days[] = {
        {"2026-05-10", SH_DAY_LOAD_UNMEASURED, 60}, {"2026-05-11", SH_DAY_LOAD_REST, 0},
        {"2026-05-12", SH_DAY_LOAD_MEASURED, 3},    {"2026-05-13", SH_DAY_LOAD_UNKNOWN, 0},
        {"2026-05-14", SH_DAY_LOAD_UNMEASURED, 2},  {"2026-05-15", SH_DAY_LOAD_UNMEASURED, 0},
        {"2026-05-16", SH_DAY_LOAD_UNKNOWN, 0},
    };
    struct sh_diary diary = read_diary(*state, "wren");
    struct sh_day_load_list list = {0};
    assert_int_equal(sh_diary_make_days(&diary, get("2026-05-16"), 10.0, &list), SH_OK);
    assert_int_equal(list.n_days, 7);
    for (size_t i = 0; i < 7; i++) {
        const struct sh_day_load *day = sh_day_load_list_find(&list, get(days[i].date));
        assert_int_equal(sh_day_load_get_kind(day), days[i].kind);
        assert_int_equal(day->n_draws, days[i].n_draws);
    }
    const struct sh_day_load *day = sh_day_load_list_find(&list, get("2026-05-12"));
    const struct sh_quantity ring = sh_day_load_get_impulse_n_s(day, 2);
    double wanted = diary.recordings[0].draws.draws[0].impulse_n_s[2].value +
                    diary.recordings[0].draws.draws[1].impulse_n_s[2].value +
                    diary.recordings[1].draws.draws[0].impulse_n_s[2].value;
    assert_near(ring.value, wanted, 0, 1e-12);
    assert_int_equal(day->n_above[0], day->n_peaks[0]);
    const struct sh_quantity lost =
        sh_day_load_get_draws(sh_day_load_list_find(&list, get("2026-05-15")));
    assert_int_equal(lost.why, SH_WHY_UNRESOLVED);
    sh_day_load_list_close(&list);
    assert_int_equal(sh_diary_make_days(&diary, get("2026-05-12"), 0.0, &list), SH_OK);
    assert_int_equal(list.n_days, 3); /* what lies later is left out */
    sh_day_load_list_close(&list);
    assert_int_equal(sh_diary_make_days(&diary, get("2026-05-01"), 0.0, &list), SH_OK);
    assert_int_equal(list.n_days, 1);
    sh_day_load_list_close(&list);
    sh_diary_close(&diary);
}

/* One day's draws only, nothing analysed, one folder left out. */
static void test_what_is_left_out(void **state)
{
    const struct scratch *home = *state;
    char skip[1][4096];
    (void)snprintf(skip[0], sizeof skip[0], "%s/recordings/../recordings/a", home->folder);
    struct sh_diary_config config = {.home = home->folder,
                                     .athlete = "wren",
                                     .with_draws = true,
                                     .may_analyze = true,
                                     .is_one_day = true,
                                     .day = get("2026-05-12"),
                                     .skip = (const char(*)[4096])skip,
                                     .n_skip = 1};
    struct sh_diary diary;
    struct sh_error err = {0};
    assert_int_equal(sh_diary_read(&config, &diary, &err), SH_OK);
    assert_int_equal(diary.n_recordings, 3);
    assert_string_equal(diary.recordings[0].name, "b");
    assert_true(diary.recordings[0].was_read);
    assert_false(diary.recordings[1].was_read);
    sh_diary_close(&diary);
    config.may_analyze = false;
    assert_int_equal(sh_diary_read(&config, &diary, &err), SH_OK);
    assert_false(diary.recordings[0].was_read);
    assert_non_null(strstr(diary.warnings.data, "not been analysed"));
    sh_diary_close(&diary);
}

static void test_nobody_has_nothing(void **state)
{
    struct sh_diary diary = read_diary(*state, "teal");
    assert_int_equal(diary.n_recordings + diary.n_ratings + diary.n_trouble, 0);
    sh_diary_close(&diary);
    struct scratch empty;
    scratch_path(*state, "nowhere", empty.folder);
    diary = read_diary(&empty, "wren");
    assert_int_equal(diary.n_recordings, 0);
    assert_null(diary.warnings.data);
    sh_diary_close(&diary);
}

static void test_a_broken_person_is_refused(void **state)
{
    const struct scratch *home = *state;
    const struct sh_diary_config config = {.home = home->folder, .athlete = "heron"};
    struct sh_diary diary;
    struct sh_error err = {0};
    char path[SCRATCH_PATH_BYTES];
    scratch_path(home, "people/heron.json", path);
    scratch_write(path, "{", 1);
    assert_int_equal(sh_diary_read(&config, &diary, &err), SH_ERR_FORMAT);
    assert_non_null(strstr(err.where, "heron.json"));
    sh_diary_close(&diary);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_what_is_read),
        cmocka_unit_test(test_ratings_and_trouble),
        cmocka_unit_test(test_draws_by_hand_pass_a_limit),
        cmocka_unit_test(test_each_kind_of_day),
        cmocka_unit_test(test_what_is_left_out),
        cmocka_unit_test(test_nobody_has_nothing),
        cmocka_unit_test(test_a_broken_person_is_refused),
    };
    return cmocka_run_group_tests(tests, open_home, scratch_tear_down);
}
