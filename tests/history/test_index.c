/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "history/index.h"

#include <signal.h>
#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

#include "recording/scratch.h"
#include "report/made.h"
#include "support/cmocka_all.h"

#define SHOTS 3u /* of the made analysis */

struct place {
    struct scratch scratch;
    char path[SCRATCH_PATH_BYTES];
    struct sh_index *index;
};

static int open_place(void **state)
{
    struct place *place = calloc(1, sizeof *place);
    struct sh_error err = {0};
    assert_non_null(place);
    scratch_open(&place->scratch);
    scratch_path(&place->scratch, "history.sqlite", place->path);
    assert_int_equal(sh_index_open(place->path, &place->index, &err), SH_OK);
    *state = place;
    return 0;
}

static int close_place(void **state)
{
    struct place *place = *state;
    sh_index_close(&place->index);
    assert_null(place->index);
    sh_index_close(&place->index);
    scratch_close(&place->scratch);
    free(place);
    return 0;
}

static struct sh_index_recording make_recording(const char *content, const char *folder)
{
    struct sh_index_recording recording = {.stamp_ns = 17, .utc_offset_min = 120};
    (void)snprintf(recording.content, sizeof recording.content, "%s", content);
    (void)snprintf(recording.folder, sizeof recording.folder, "%s", folder);
    (void)snprintf(recording.program, sizeof recording.program, "stringhand 0.1.0");
    (void)snprintf(recording.started, sizeof recording.started, "2026-05-14T09:30:00.000Z");
    (void)snprintf(recording.athlete, sizeof recording.athlete, "wren");
    (void)snprintf(recording.bow, sizeof recording.bow, "kiln");
    (void)snprintf(recording.session, sizeof recording.session, "tuesday evening");
    (void)snprintf(recording.channels, sizeof recording.channels, "string_force");
    return recording;
}

static void put(struct sh_index *index, const char *content, const char *folder)
{
    const struct sh_index_recording recording = make_recording(content, folder);
    const struct sh_arrow arrows[SHOTS] = {{.end = 1, .number = 1}, {.end = 1}, {.end = 1}};
    struct sh_analysis analysis;
    struct sh_error err = {0};
    made_analysis(&analysis);
    assert_int_equal(analysis.n_shots, SHOTS);
    assert_int_equal(sh_index_put(index, &recording, &analysis, arrows, &err), SH_OK);
    sh_analysis_close(&analysis);
}

static bool is_there(struct sh_index *index, const char *content)
{
    struct sh_index_recording found;
    enum sh_status status = SH_ERR_IO;
    const bool is_found = sh_index_find_content(index, content, &found, &status);
    assert_int_equal(status, SH_OK);
    return is_found;
}

static void test_what_is_put_is_found(void **state)
{
    struct place *place = *state;
    const struct sh_index_recording sent = make_recording("00000000000000aa", "/range/tuesday");
    struct sh_index_recording got;
    enum sh_status status = SH_ERR_IO;
    assert_false(sh_index_find_folder(place->index, "/range/tuesday", &got, &status));
    assert_int_equal(status, SH_OK);
    put(place->index, sent.content, sent.folder);
    assert_true(sh_index_find_folder(place->index, "/range/tuesday", &got, &status));
    assert_string_equal(got.content, sent.content);
    assert_string_equal(got.folder, sent.folder);
    assert_true(got.stamp_ns == sent.stamp_ns);
    assert_string_equal(got.program, sent.program);
    assert_string_equal(got.started, sent.started);
    assert_int_equal(got.utc_offset_min, 120);
    assert_string_equal(got.session, sent.session);
    assert_string_equal(got.athlete, sent.athlete);
    assert_string_equal(got.bow, sent.bow);
    assert_string_equal(got.channels, sent.channels);
}

static void test_put_again_replaces(void **state)
{
    struct place *place = *state;
    put(place->index, "00000000000000aa", "/range/tuesday");
    put(place->index, "00000000000000aa", "/range/elsewhere");
    struct sh_index_recording got;
    enum sh_status status = SH_ERR_IO;
    assert_false(sh_index_find_folder(place->index, "/range/tuesday", &got, &status));
    assert_true(sh_index_find_folder(place->index, "/range/elsewhere", &got, &status));
    /* another recording in the same folder: the one before is gone from there */
    put(place->index, "00000000000000bb", "/range/elsewhere");
    assert_false(is_there(place->index, "00000000000000aa"));
    assert_true(is_there(place->index, "00000000000000bb"));
}

/* The tags in the file, "name=value " each, by name. */
static void check_tags(const char *path, const char *expected)
{
    sqlite3 *database = NULL;
    sqlite3_stmt *statement = NULL;
    char got[256] = "";
    assert_int_equal(sqlite3_open(path, &database), SQLITE_OK);
    assert_int_equal(sqlite3_prepare_v2(database, "SELECT name, value FROM tag ORDER BY name",
                                        -1, &statement, NULL),
                     SQLITE_OK);
    while (sqlite3_step(statement) == SQLITE_ROW) {
        (void)snprintf(got + strlen(got), sizeof got - strlen(got), "%s=%s ",
                       (const char *)sqlite3_column_text(statement, 0),
                       (const char *)sqlite3_column_text(statement, 1));
    }
    (void)sqlite3_finalize(statement);
    (void)sqlite3_close(database);
    assert_string_equal(got, expected);
}

/* Tags come and go with their recording; put again, those that are gone from it are gone. */
static void test_tags(void **state)
{
    struct place *place = *state;
    const struct sh_tag tags[] = {{"tab", "thick leather"}, {"string", "waxed"}};
    const struct sh_arrow arrows[SHOTS] = {{.end = 1, .number = 1}, {.end = 1}, {.end = 1}};
    struct sh_index_recording recording = make_recording("00000000000000aa", "/a");
    struct sh_analysis analysis;
    made_analysis(&analysis);
    recording.tags = tags;
    recording.n_tags = 2;
    assert_int_equal(sh_index_put(place->index, &recording, &analysis, arrows, NULL), SH_OK);
    check_tags(place->path, "string=waxed tab=thick leather ");
    recording.n_tags = 1;
    assert_int_equal(sh_index_put(place->index, &recording, &analysis, arrows, NULL), SH_OK);
    check_tags(place->path, "tab=thick leather ");
    assert_int_equal(sh_index_remove(place->index, "00000000000000aa", NULL), SH_OK);
    check_tags(place->path, "");
    sh_analysis_close(&analysis);
}

static void test_move_and_remove(void **state)
{
    struct place *place = *state;
    struct sh_error err = {0};
    put(place->index, "00000000000000aa", "/range/a");
    put(place->index, "00000000000000bb", "/range/b");
    assert_int_equal(sh_index_move(place->index, "00000000000000aa", "/range/c", &err), SH_OK);
    struct sh_index_recording got;
    enum sh_status status = SH_ERR_IO;
    assert_true(sh_index_find_folder(place->index, "/range/c", &got, &status));
    /* onto the place of another, which is not there any more */
    assert_int_equal(sh_index_move(place->index, "00000000000000aa", "/range/b", &err), SH_OK);
    assert_false(is_there(place->index, "00000000000000bb"));
    assert_int_equal(sh_index_remove(place->index, "00000000000000aa", &err), SH_OK);
    assert_false(is_there(place->index, "00000000000000aa"));
    assert_int_equal(sh_index_remove(place->index, "00000000000000aa", &err), SH_OK);
}

/* Do the bytes of text stand in a file? */
static bool holds(const char *path, const char *text)
{
    size_t n_bytes = 0;
    bool is_found = false;
    if (!scratch_exists(path)) {
        return false;
    }
    char *bytes = scratch_read(path, &n_bytes);
    for (size_t i = 0; i + strlen(text) <= n_bytes && !is_found; i++) {
        is_found = memcmp(bytes + i, text, strlen(text)) == 0;
    }
    free(bytes);
    return is_found;
}

static void test_nothing_is_left_of_who_was_removed(void **state)
{
    struct place *place = *state;
    char log[SCRATCH_PATH_BYTES + 8];
    size_t n = 0;
    struct sh_error err = {0};
    struct sh_index *reader = NULL;
    (void)snprintf(log, sizeof log, "%s-wal", place->path);
    put(place->index, "00000000000000aa", "/range/tuesday");
    put(place->index, "00000000000000bb", "/range/friday");
    assert_int_equal(sh_index_remove_athlete(place->index, "rook", &n, &err), SH_OK);
    assert_int_equal(n, 0);
    assert_true(is_there(place->index, "00000000000000aa"));
    assert_int_equal(sh_index_remove_athlete(place->index, "wren", &n, &err), SH_OK);
    assert_int_equal(n, 2);
    assert_false(is_there(place->index, "00000000000000aa"));
    assert_true(holds(place->path, "wren") || holds(log, "wren"));      /* removed, not gone */
    assert_int_equal(sh_index_open(place->path, &reader, &err), SH_OK); /* reads nothing now */
    assert_int_equal(sh_index_scrub(place->index, &err), SH_OK);
    assert_false(holds(place->path, "wren"));
    assert_false(holds(log, "wren"));
    sh_index_close(&reader);
    assert_int_equal(sh_index_begin(place->index, &err), SH_OK);
    assert_int_not_equal(sh_index_scrub(place->index, &err), SH_OK); /* in a transaction */
    assert_int_equal(sh_index_roll_back(place->index, NULL), SH_OK);
}

static void test_what_is_not_committed_is_not_there(void **state)
{
    struct place *place = *state;
    struct sh_error err = {0};
    put(place->index, "00000000000000aa", "/range/a");
    assert_int_equal(sh_index_begin(place->index, &err), SH_OK);
    put(place->index, "00000000000000bb", "/range/b");
    sh_index_close(&place->index);
    assert_int_equal(sh_index_open(place->path, &place->index, &err), SH_OK);
    assert_true(is_there(place->index, "00000000000000aa"));
    assert_false(is_there(place->index, "00000000000000bb"));
    assert_int_equal(sh_index_begin(place->index, &err), SH_OK);
    put(place->index, "00000000000000bb", "/range/b");
    assert_int_equal(sh_index_commit(place->index, &err), SH_OK);
    sh_index_close(&place->index);
    assert_int_equal(sh_index_open(place->path, &place->index, &err), SH_OK);
    assert_true(is_there(place->index, "00000000000000bb"));
}

/* A writer that is killed while it writes leaves an index that can be used and written on. */
static void test_a_killed_writer_leaves_a_usable_index(void **state)
{
    struct place *place = *state;
    struct sh_error err = {0};
    int ready[2];
    assert_int_equal(pipe(ready), 0);
    sh_index_close(&place->index);
    const pid_t child = fork();
    assert_true(child >= 0);
    if (child == 0) {
        struct sh_index *index = NULL;
        if (sh_index_open(place->path, &index, &err) != SH_OK) {
            _exit(1);
        }
        put(index, "00000000000000aa", "/range/a");
        (void)sh_index_begin(index, &err);
        put(index, "00000000000000bb", "/range/b");
        (void)write(ready[1], "", 1);
        for (;;) {
            (void)pause();
        }
    }
    char byte = 1;
    int ended = 0;
    assert_int_equal(read(ready[0], &byte, 1), 1);
    assert_int_equal(kill(child, SIGKILL), 0);
    assert_int_equal(waitpid(child, &ended, 0), child);
    assert_true(WIFSIGNALED(ended));
    (void)close(ready[0]);
    (void)close(ready[1]);
    assert_int_equal(sh_index_open(place->path, &place->index, &err), SH_OK);
    assert_true(is_there(place->index, "00000000000000aa"));
    assert_false(is_there(place->index, "00000000000000bb"));
    put(place->index, "00000000000000bb", "/range/b");
    assert_true(is_there(place->index, "00000000000000bb"));
}

static void test_files_that_are_none_are_refused(void **state)
{
    struct place *place = *state;
    char path[SCRATCH_PATH_BYTES];
    char text[8192];
    struct sh_index *index = NULL;
    struct sh_error err = {0};
    memset(text, 'x', sizeof text);
    scratch_path(&place->scratch, "text", path);
    scratch_write(path, text, sizeof text);
    assert_int_equal(sh_index_open(path, &index, &err), SH_ERR_FORMAT);
    assert_null(index);
    assert_string_equal(err.where, path);
    assert_string_equal(err.todo, "delete the file: it is made again from the recordings");
    err = (struct sh_error){0};
    scratch_path(&place->scratch, "nowhere/history.sqlite", path);
    assert_int_equal(sh_index_open(path, &index, &err), SH_ERR_IO);
    memset(text, 'x', sizeof text - 1);
    text[sizeof text - 1] = '\0';
    err = (struct sh_error){0};
    assert_int_equal(sh_index_open(text, &index, &err), SH_ERR_ARGUMENT);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_what_is_put_is_found, open_place, close_place),
        cmocka_unit_test_setup_teardown(test_put_again_replaces, open_place, close_place),
        cmocka_unit_test_setup_teardown(test_tags, open_place, close_place),
        cmocka_unit_test_setup_teardown(test_move_and_remove, open_place, close_place),
        cmocka_unit_test_setup_teardown(test_nothing_is_left_of_who_was_removed, open_place,
                                        close_place),
        cmocka_unit_test_setup_teardown(test_what_is_not_committed_is_not_there, open_place,
                                        close_place),
        cmocka_unit_test_setup_teardown(test_a_killed_writer_leaves_a_usable_index, open_place,
                                        close_place),
        cmocka_unit_test_setup_teardown(test_files_that_are_none_are_refused, open_place,
                                        close_place),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
