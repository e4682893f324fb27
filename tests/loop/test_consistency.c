/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <jansson.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "loop/club.h"
#include "support/cmocka_all.h"
#include "support/json_file.h"

/* `consistency` on simulated sessions, through the real program. */

struct place {
    struct club club;
    char free_folder[SCRATCH_PATH_BYTES];
    char clocked_folder[SCRATCH_PATH_BYTES];
    char other_folder[SCRATCH_PATH_BYTES];
};

static char *run(const struct place *place, const char *const *words, int status)
{
    struct program program;
    char *said = program_get_said(&program, &place->club.scratch, words, status);
    if (status == 0 && strcmp(words[0], "simulate") != 0) { /* which says its seed */
        char *err = program_read_err(&program);
        assert_string_equal(err, "");
        free(err);
    }
    return said;
}

/* The last letter of the folder's name is the day and the seed: each evening is another. */
static void
simulate(const struct place *place, const char *folder, const char *athlete, bool timed)
{
    const int letter = folder[strlen(folder) - 1] - 'a';
    char seed[16];
    char started[40];
    (void)snprintf(seed, sizeof seed, "%d", 5 + letter);
    (void)snprintf(started, sizeof started, "2026-05-%02dT09:30:00.000Z", 14 + letter);
    const char *words[] = {"simulate", "--seed",    seed,        "--draws",
                           "24",       "--set",     "force1000", "--out",
                           folder,     "--athlete", athlete,     timed ? "--clock" : NULL,
                           "120",      NULL};
    free(run(place, words, 0));
    json_t *root = json_file_load_in(folder, "recording.json");
    assert_int_equal(json_object_set_new(root, "started", json_string(started)), 0);
    json_file_store_in(folder, "recording.json", root);
}

static int open_place(void **state)
{
    static struct place place;
    club_open(&place.club);
    scratch_path(&place.club.scratch, "home/recordings/a", place.free_folder);
    scratch_path(&place.club.scratch, "home/recordings/b", place.clocked_folder);
    scratch_path(&place.club.scratch, "home/recordings/c", place.other_folder);
    simulate(&place, place.free_folder, "wren", false);
    simulate(&place, place.clocked_folder, "wren", true);
    simulate(&place, place.other_folder, "rook", false);
    *state = &place;
    return 0;
}

static int close_place(void **state)
{
    struct place *place = *state;
    club_close(&place->club);
    return 0;
}

static void assert_one_line(const char *said, const char *words)
{
    if (strstr(said, words) == NULL || strchr(said, '\n') != said + strlen(said) - 1) {
        fail_msg("'%s' is not the one line of: %s", words, said);
    }
}

/* All of an athlete's recordings, and only hers; two days are no clock. */
static void test_an_athlete(void **state)
{
    const struct place *place = *state;
    const char *words[] = {"consistency", "wren", "--home", place->club.home,
                           "--format",    "json", NULL};
    char *out = run(place, words, 0);
    json_t *root = json_loads(out, 0, NULL);
    assert_non_null(root);
    assert_int_equal(json_array_size(json_object_get(root, "recordings")), 2);
    assert_int_equal(json_integer_value(json_object_get(root, "ends")), 8);
    const json_t *hold = json_object_get(json_object_get(root, "measures"), "hold_time_s");
    assert_int_equal(json_integer_value(json_object_get(hold, "arrows")), 48);
    const json_t *effect = json_object_get(hold, "clocked_less_free");
    assert_true(json_is_null(json_object_get(effect, "value")));
    assert_true(json_is_false(json_object_get(effect, "seen")));
    json_decref(root);
    char *again = run(place, words, 0);
    assert_string_equal(again, out);
    free(again);
    free(out);
}

/* From the index, from folders that cannot have one, and from the folders that are named: the
 * same bytes. */
static void test_the_index_gives_what_the_folders_give(void **state)
{
    const struct place *place = *state;
    char path[SCRATCH_PATH_BYTES];
    const char *words[] = {"consistency", "wren", "--home", place->club.home,
                           "--format",    "json", NULL};
    const char *named[] = {
        "consistency", place->free_folder, place->clocked_folder, "--format", "json", NULL};
    char *indexed = run(place, words, 0);
    char *folders = run(place, named, 0);
    assert_string_equal(indexed, folders);
    scratch_path(&place->club.scratch, "home/history.sqlite", path);
    assert_true(scratch_exists(path));
    assert_int_equal(unlink(path), 0);
    assert_int_equal(mkdir(path, 0700), 0); /* no index can be made */
    struct program program;
    assert_int_equal(program_run(&program, &place->club.scratch, "run", words), 0);
    char *out = program_read_out(&program);
    char *err = program_read_err(&program);
    assert_string_equal(out, folders);
    assert_one_line(err, "history.sqlite");
    assert_int_equal(rmdir(path), 0);
    free(indexed);
    free(folders);
    free(out);
    free(err);
}

/* What cannot be read is named, a line each, and left out. */
static void test_unread_recordings_are_named(void **state)
{
    const struct place *place = *state;
    struct program program;
    char folder[SCRATCH_PATH_BYTES];
    char file[SCRATCH_PATH_BYTES + 20];
    const char *words[] = {"consistency", "wren", "--home", place->club.home, NULL};
    static const char *const names[] = {"home/recordings/x", "home/recordings/y"};
    for (size_t i = 0; i < 2; i++) {
        scratch_path(&place->club.scratch, names[i], folder);
        assert_int_equal(mkdir(folder, 0700), 0);
        (void)snprintf(file, sizeof file, "%s/recording.json", folder);
        scratch_write(file, "{", 1);
    }
    for (size_t round = 0; round < 2; round++) { /* with the index, and without */
        scratch_path(&place->club.scratch, "home/history.sqlite", folder);
        assert_int_equal(program_run(&program, &place->club.scratch, "run", words), 0);
        char *out = program_read_out(&program);
        char *err = program_read_err(&program);
        assert_non_null(strstr(out, "48 arrows, 8 ends, 2 recordings."));
        assert_non_null(strstr(err, "recordings/x/recording.json"));
        assert_non_null(strstr(err, "recordings/y/recording.json"));
        free(out);
        free(err);
        if (round == 0) {
            assert_int_equal(unlink(folder), 0);
            assert_int_equal(mkdir(folder, 0700), 0);
        }
    }
    assert_int_equal(rmdir(folder), 0);
    for (size_t i = 0; i < 2; i++) {
        scratch_path(&place->club.scratch, names[i], folder);
        (void)snprintf(file, sizeof file, "%s/recording.json", folder);
        assert_int_equal(unlink(file), 0);
        assert_int_equal(rmdir(folder), 0);
    }
}

static void test_a_recording(void **state)
{
    const struct place *place = *state;
    /* named twice, counted once */
    const char *words[] = {
        "consistency", place->clocked_folder, place->clocked_folder, "--plot", "--plain", NULL};
    char *out = run(place, words, 0);
    assert_non_null(strstr(out, "24 arrows, 4 ends, 1 recordings."));
    assert_non_null(strstr(out, "The hold is "));
    assert_non_null(strstr(out, "c under the clock"));
    free(out);
}

/* Stops the clock where every other end would have begun one. */
static void mix(const char *folder)
{
    size_t n_clocks = 0;
    json_t *root = json_file_load_in(folder, "recording.json");
    json_t *marks = json_object_get(root, "marks");
    assert_non_null(marks);
    for (size_t i = 0; i < json_array_size(marks); i++) {
        json_t *mark = json_array_get(marks, i);
        const char *kind = json_string_value(json_object_get(mark, "kind"));
        if (strcmp(kind, "clock") == 0 && n_clocks++ % 2 == 1) {
            assert_int_equal(json_object_set_new(mark, "kind", json_string("clock-stop")), 0);
            assert_int_equal(json_object_del(mark, "seconds"), 0);
            (void)json_object_del(mark, "arrows");
        }
    }
    json_file_store_in(folder, "recording.json", root);
}

/* One session with both kinds of ends, from an archer who does not heed the clock. */
static void test_a_mixed_session(void **state)
{
    const struct place *place = *state;
    char folder[SCRATCH_PATH_BYTES];
    scratch_path(&place->club.scratch, "mixed", folder);
    const char *make[] = {"simulate",  "--seed", "6",    "--draws", "36",  "--set",
                          "force1000", "--out",  folder, "--clock", "120", NULL};
    const char *words[] = {"consistency", folder, "--arrows", "2-6", "--format", "json", NULL};
    free(run(place, make, 0));
    mix(folder);
    char *out = run(place, words, 0);
    json_t *root = json_loads(out, 0, NULL);
    const json_t *effect = json_object_get(
        json_object_get(json_object_get(root, "measures"), "hold_time_s"), "clocked_less_free");
    assert_int_equal(json_integer_value(json_object_get(effect, "ends_free")), 3);
    assert_int_equal(json_integer_value(json_object_get(effect, "ends_clocked")), 3);
    assert_int_equal(json_integer_value(json_object_get(effect, "first_arrow")), 2);
    assert_true(json_is_number(json_object_get(effect, "lo")));
    assert_true(json_is_false(json_object_get(effect, "seen")));
    assert_non_null(strstr(out, "The clock makes no difference to the hold that 3 ends"));
    json_decref(root);
    free(out);
}

static void
check_refused(const struct place *place, const char *const *words, int status, const char *said)
{
    char *err = run(place, words, status);
    assert_one_line(err, said);
    free(err);
}

static void test_refuses(void **state)
{
    const struct place *place = *state;
    const char *two[] = {"consistency", place->free_folder, place->other_folder, NULL};
    const char *nobody[] = {"consistency", "plover", "--home", place->club.home, NULL};
    const char *format[] = {"consistency", "wren", "--format", "xml", NULL};
    const char *arrows[] = {"consistency", "wren", "--arrows", "6-4", NULL};
    const char *seed[] = {"consistency", "wren", "--seed", "-1", NULL};
    const char *plot[] = {"consistency", "wren", "--plot", "--format", "csv", NULL};
    const char *none[] = {"consistency", place->club.scratch.folder, "nowhere", NULL};
    check_refused(place, two, 1, "shot by another athlete");
    check_refused(place, nobody, 1, "nor one of an athlete of that name");
    check_refused(place, format, 2, "'xml' is no format");
    check_refused(place, arrows, 2, "'6-4' is not understood");
    check_refused(place, seed, 2, "'-1' is not understood");
    check_refused(place, plot, 2, "a drawing goes with a table only");
    check_refused(place, none, 1, "nowhere");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_an_athlete),
        cmocka_unit_test(test_the_index_gives_what_the_folders_give),
        cmocka_unit_test(test_unread_recordings_are_named),
        cmocka_unit_test(test_a_recording),
        cmocka_unit_test(test_a_mixed_session),
        cmocka_unit_test(test_refuses),
    };
    return cmocka_run_group_tests(tests, open_place, close_place);
}
