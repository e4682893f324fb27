/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/team_source.h"

#include <jansson.h>
#include <stdio.h>
#include <string.h>

#include "app/recorded.h"
#include "recording/scratch.h"
#include "support/cmocka_all.h"
#include "support/json_file.h"
#include "support/near.h"

#define TURNS 5

/* Sets when a recording was begun and, from taken_s on, that its one clock was running. */
static void edit(const char *folder, const char *started, double taken_s)
{
    json_t *root = json_file_load_in(folder, "recording.json");
    assert_int_equal(json_object_set_new(root, "started", json_string(started)), 0);
    json_t *clock = json_array_get(json_object_get(root, "marks"), 0);
    assert_string_equal(json_string_value(json_object_get(clock, "kind")), "clock");
    if (taken_s > 0.0) {
        assert_int_equal(json_object_set_new(clock, "elapsed_s", json_real(taken_s)), 0);
    }
    json_file_store_in(folder, "recording.json", root);
}

/* A turn of two arrows under a clock of 200 s, recorded from started on. */
static void record(const struct scratch *scratch,
                   const char *athlete,
                   int turn,
                   const char *started,
                   double taken_s)
{
    char folder[SCRATCH_PATH_BYTES];
    char name[64];
    struct sh_simulation_config config = sh_simulation_config_default();
    (void)snprintf(name, sizeof name, "%s%d", athlete, turn);
    scratch_path(scratch, name, folder);
    config.athlete = athlete;
    config.set = "force80";
    config.n_draws = 2;
    config.seed = (uint64_t)turn + 1;
    config.clock_s = 200.0;
    recorded_write(&config, folder);
    edit(folder, started, taken_s);
}

static void fail_unread(void *context, const struct sh_error *failure)
{
    (void)context;
    fail_msg("%s: %s", failure->where, failure->what);
}

static double get_clock_s(const struct sh_team_times *times, size_t end)
{
    return times->ends[end].taken_s;
}

/*
 * Five evenings: wren begins, and rook takes over 110 s, 111 s ... into the clock, her
 * recording having begun so much later. Each hand-over is what had run then less what had at
 * wren's last release; wren's own are none, so the team's stand for her.
 */
static void test_hand_overs(void **state)
{
    const struct scratch *scratch = *state;
    char wren[] = "wren";
    char rook[] = "rook";
    char *const words[2] = {wren, rook};
    const struct sh_history_update_sink unread = {fail_unread, NULL};
    const struct sh_athlete_list_place place = {scratch->folder, scratch->folder, &unread};
    struct sh_team_source source;
    struct sh_error err = {0};
    const struct sh_team_source_hand_over given = {"wren", 2.0, 3.0};
    for (int turn = 0; turn < TURNS; turn++) {
        char started[64];
        (void)snprintf(started, sizeof started, "2026-05-%02dT18:00:00.000Z", turn + 1);
        record(scratch, "wren", turn, started, 0.0);
        (void)snprintf(started, sizeof started, "2026-05-%02dT18:01:%02d.000Z", turn + 1,
                       50 + turn);
        record(scratch, "rook", turn, started, 110.0 + turn);
    }
    assert_int_equal(sh_team_source_read(&place, words, 2, &source, &err), SH_OK);
    assert_int_equal(source.n_seen[0], 0);
    assert_int_equal(source.n_seen[1], TURNS);
    for (size_t i = 0; i < TURNS; i++) {
        assert_near(get_clock_s(&source.times[1], i), 110.0 + (double)i, 1e-9, 0);
        assert_near(source.seen_s[1][i], 110.0 + (double)i - source.times[0].ends[i].last_s,
                    1e-9, 0);
        assert_true(source.seen_s[1][i] > 0.0);
    }
    assert_int_equal(sh_team_source_set_hand_overs(&source, NULL, 0, &err), SH_OK);
    assert_int_equal(source.archers[1].hand_over.source, SH_TEAM_HAND_OVER_OWN);
    assert_int_equal(source.archers[0].hand_over.source, SH_TEAM_HAND_OVER_TEAM);
    assert_int_equal(source.archers[0].hand_over.n_seen, TURNS);
    assert_int_equal(sh_team_source_set_hand_overs(&source, &given, 1, &err), SH_OK);
    assert_int_equal(source.archers[0].hand_over.source, SH_TEAM_HAND_OVER_GIVEN);
    assert_near(source.archers[0].hand_over.high_s, 3.0, 0, 0);
    source.n_seen[1] = SH_TEAM_HAND_OVER_MIN - 1;
    source.n_all_seen = SH_TEAM_HAND_OVER_MIN - 1;
    assert_int_equal(sh_team_source_set_hand_overs(&source, NULL, 0, &err), SH_OK);
    assert_int_equal(source.archers[1].hand_over.source, SH_TEAM_HAND_OVER_ASSUMED);
    sh_team_source_close(&source);
}

static void check_parsed(const char *word, const char *athlete, double low_s, double high_s)
{
    struct sh_team_source_hand_over got;
    assert_int_equal(sh_team_source_parse_hand_over(word, "test", &got, NULL), SH_OK);
    assert_string_equal(got.athlete, athlete);
    assert_near(got.low_s, low_s, 1e-12, 0);
    assert_near(got.high_s, high_s, 1e-12, 0);
}

static void test_parse(void **state)
{
    static const char *const bad[] = {"",      "x",   "-3",  "3-",   "6-3",   "3-6s",  "=3",
                                      "wren=", "601", "nan", "wren", "3 - 6", "wren 3"};
    struct sh_team_source_hand_over got;
    check_parsed("4", "", 4.0, 4.0);
    check_parsed("3.5-6", "", 3.5, 6.0);
    check_parsed("wren=0", "wren", 0.0, 0.0);
    check_parsed("a=b=3-600", "a=b", 3.0, 600.0);
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        struct sh_error err = {0};
        assert_int_equal(sh_team_source_parse_hand_over(bad[i], "test", &got, &err),
                         SH_ERR_ARGUMENT);
        assert_string_equal(err.where, "test");
    }
}

/* What is given for one comes before what is given for all, in whatever order. */
static void test_own_comes_first(void **state)
{
    static const struct sh_team_source_hand_over given[] = {
        {"wren", 1.0, 1.0}, {"", 2.0, 2.0}, {"", 3.0, 3.0}, {"wren", 4.0, 4.0}};
    struct sh_team_source source = {.n = 2, .names = {"wren", "rook"}};
    struct sh_error err = {0};
    assert_int_equal(sh_team_source_set_hand_overs(&source, given, 3, &err), SH_OK);
    assert_near(source.archers[0].hand_over.low_s, 1.0, 0, 0);
    assert_near(source.archers[1].hand_over.low_s, 3.0, 0, 0);
    assert_int_equal(sh_team_source_set_hand_overs(&source, given, 4, &err), SH_OK);
    assert_near(source.archers[0].hand_over.low_s, 4.0, 0, 0);
    source.n = 1;
    source.names[0][0] = 'p';
    assert_int_equal(sh_team_source_set_hand_overs(&source, given, 4, &err), SH_ERR_ARGUMENT);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_hand_overs, scratch_set_up, scratch_tear_down),
        cmocka_unit_test(test_parse),
        cmocka_unit_test(test_own_comes_first),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
