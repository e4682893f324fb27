/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/goal_voice.h"

#include <math.h>
#include <string.h>

#include "app/diary_home.h"
#include "measure/catalog.h"
#include "support/cmocka_all.h"

static const struct sh_goal_voice told = {.goal = {.is_set = true, .band = {2.0, 3.0}},
                                          .has_sound = true};

static void test_the_goal_of_a_file(void **state)
{
    struct scratch home;
    struct sh_text text;
    char path[SCRATCH_PATH_BYTES];
    const struct sh_person_goal goal = {.what = "hold_time_s",
                                        .least = 2.0,
                                        .most = 3.25,
                                        .basis = "person",
                                        .set_on = "2026-05-14"};
    struct sh_person person = {.name = "wren"};
    scratch_open(&home);
    diary_home_make(&home);
    assert_int_equal(sh_person_add_goal(&person, &goal), SH_OK);
    diary_home_write_person(&home, &person);
    struct sh_goal_voice voice = sh_goal_voice_open(home.folder, "wren", false);
    assert_true(voice.goal.is_set);
    sh_text_init(&text, 0);
    sh_goal_voice_put_goal(&voice, &text);
    assert_string_equal(text.data, "goal: hold 2 to 3.25 s\n");
    sh_text_close(&text);
    assert_false(sh_goal_voice_open(home.folder, "", false).goal.is_set);
    assert_false(sh_goal_voice_open(home.folder, "rook", false).goal.is_set);
    scratch_path(&home, "people/wren.json", path);
    scratch_write(path, "{", 1);
    assert_false(sh_goal_voice_open(home.folder, "wren", false).goal.is_set);
    sh_person_close(&person);
    scratch_close(&home);
}

static void check_live(const struct sh_segmenter_state *now, const char *expected)
{
    struct sh_text text;
    sh_text_init(&text, 0);
    sh_goal_voice_put_live(&told, now, &text);
    assert_string_equal(text.data != NULL ? text.data : "", expected);
    sh_text_close(&text);
}

static void test_while_the_string_is_held(void **state)
{
    struct sh_segmenter_state now = {.phase = SH_SEGMENTER_HOLD, .since_s = 10.0};
    now.now_s = 11.9;
    check_live(&now, "*[ ]  short ");
    now.now_s = 12.5;
    check_live(&now, " [*]  inside");
    now.now_s = 13.1;
    check_live(&now, " [ ]* long  ");
    now.phase = SH_SEGMENTER_DRAWING;
    check_live(&now, "");
    now.phase = SH_SEGMENTER_UNKNOWN;
    check_live(&now, "");
}

static struct sh_shot_record make_record(double hold_s)
{
    struct sh_shot_record record = {.shot = {.n = 3, .kind = SH_SHOT_SHOT}};
    const size_t place = (size_t)(sh_catalog_get(&record.measures, SH_MEASURE_HOLD_TIME, 0) -
                                  record.measures.quantity);
    record.measures.quantity[place] =
        isnan(hold_s) ? sh_quantity_unknown(SH_WHY_NOT_ASKED) : sh_quantity_known(hold_s, 0.01);
    return record;
}

static void
check_judged(const struct sh_shot_record *record, const char *expected, bool has_bell)
{
    struct sh_goal_voice voice = told;
    struct sh_text text;
    sh_text_init(&text, 0);
    sh_goal_voice_judge(&voice, record, &text);
    assert_string_equal(text.data != NULL ? text.data : "", expected);
    assert_int_equal(voice.has_bell, has_bell);
    sh_text_close(&text);
}

static void test_of_each_arrow(void **state)
{
    struct sh_shot_record record = make_record(1.5);
    check_judged(&record, "  Hold *[ ]  short: 1.50 s, goal 2 to 3 s.\n", false);
    record = make_record(2.5);
    check_judged(&record, "  Hold  [*]  inside: 2.50 s, goal 2 to 3 s.\n", true);
    record.shot.kind = SH_SHOT_LET_DOWN;
    check_judged(&record, "", false);
    record = make_record(3.5);
    check_judged(&record, "  Hold  [ ]* long: 3.50 s, goal 2 to 3 s.\n", false);
    record = make_record((double)NAN);
    check_judged(&record, "", false);
}

/* One stroke, a second after the string came to rest; none once a draw has begun. */
static void test_the_bell_waits_for_rest(void **state)
{
    struct sh_goal_voice voice = told;
    struct sh_segmenter_state now = {
        .phase = SH_SEGMENTER_REST, .since_s = 10.0, .now_s = 10.99};
    voice.has_bell = true;
    assert_false(sh_goal_voice_take_bell(&voice, &now));
    now.now_s = 11.0;
    now.force_n = 5.1; /* somebody has begun to pull */
    assert_false(sh_goal_voice_take_bell(&voice, &now));
    now.force_n = -5.0;
    assert_true(sh_goal_voice_take_bell(&voice, &now));
    assert_false(sh_goal_voice_take_bell(&voice, &now)); /* one stroke */
    static const enum sh_segmenter_phase pulled[] = {SH_SEGMENTER_UNKNOWN, SH_SEGMENTER_DRAWING,
                                                     SH_SEGMENTER_HOLD};
    for (size_t i = 0; i < 3; i++) {
        voice.has_bell = true;
        now.phase = pulled[i];
        assert_false(sh_goal_voice_take_bell(&voice, &now));
        now.phase = SH_SEGMENTER_REST;
        assert_false(sh_goal_voice_take_bell(&voice, &now)); /* taken back */
    }
}

static void test_silent_until_switched_on(void **state)
{
    struct sh_goal_voice voice = told;
    struct sh_text text;
    const struct sh_shot_record record = make_record(2.5);
    voice.has_sound = false;
    sh_text_init(&text, 0);
    sh_goal_voice_judge(&voice, &record, &text);
    assert_false(voice.has_bell);
    sh_text_close(&text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_the_goal_of_a_file),
        cmocka_unit_test(test_while_the_string_is_held),
        cmocka_unit_test(test_of_each_arrow),
        cmocka_unit_test(test_the_bell_waits_for_rest),
        cmocka_unit_test(test_silent_until_switched_on),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
