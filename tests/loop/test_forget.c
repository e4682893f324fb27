/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <errno.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "loop/program.h"
#include "loop/said.h"
#include "loop/screen.h"
#include "support/cmocka_all.h"

#define COMMAND_BYTES 1200

/* `history --forget` through the real program, on a home of wren, rook and others' files. */

struct place {
    struct scratch scratch;
    char home[SCRATCH_PATH_BYTES];
    char recordings[SCRATCH_PATH_BYTES];
    char made[SCRATCH_PATH_BYTES]; /* one simulated recording, which the others are copies of */
};

static void shell(const struct place *place, const char *command)
{
    char line[SCRATCH_PATH_BYTES + COMMAND_BYTES + 64];
    (void)snprintf(line, sizeof line, "cd '%s' && { %s; }", place->home, command);
    assert_int_equal(system(line), 0); /* NOLINT(cert-env33-c): our own words */
}

static bool is_in_home(const struct place *place, const char *name)
{
    char path[2 * SCRATCH_PATH_BYTES];
    struct stat file;
    (void)snprintf(path, sizeof path, "%s/%s", place->home, name);
    return lstat(path, &file) == 0;
}

/* A recording of an athlete, started in another minute than the others. */
static void record(const struct place *place, const char *name, const char *athlete, int minute)
{
    char command[COMMAND_BYTES];
    (void)snprintf(command, sizeof command,
                   "cp -a ../made recordings/%s && sed -i -e 's/\"wren\"/\"%s\"/' -e "
                   "'s/\"started\": *\"[^\"]*\"/\"started\": \"2026-05-14T09:%02d:00.000Z\"/' "
                   "recordings/%s/recording.json && rm -f recordings/%s/analysis.json",
                   name, athlete, minute, name, name);
    shell(place, command);
}

static int make_scratch(void **state)
{
    static struct place place;
    struct program program;
    scratch_open(&place.scratch);
    scratch_path(&place.scratch, "home", place.home);
    scratch_path(&place.scratch, "home/recordings", place.recordings);
    scratch_path(&place.scratch, "made", place.made);
    const char *words[] = {"simulate", "--seed", "5",        "--draws",   "1",    "--set",
                           "force80",  "--out",  place.made, "--athlete", "wren", NULL};
    assert_int_equal(program_run(&program, &place.scratch, "make", words), 0);
    assert_int_equal(chmod(place.scratch.folder, 0755), 0);
    *state = &place;
    return 0;
}

static int remove_scratch(void **state)
{
    struct place *place = *state;
    scratch_close(&place->scratch);
    return 0;
}

static int open_home(void **state)
{
    const struct place *place = *state;
    assert_int_equal(mkdir(place->home, 0755), 0);
    assert_int_equal(mkdir(place->recordings, 0755), 0);
    record(place, "a-wren", "wren", 1);
    record(place, "b-rook", "rook", 2);
    record(place, "c-wren", "wren", 3);
    shell(place, "mkdir people; printf '{\"format\": \"stringhand-person\", \"version\": 1, "
                 "\"name\": \"wren\", \"rest\": [{\"date\": \"2026-05-03\"}]}' > "
                 "people/wren.json");
    return 0;
}

static int close_home(void **state)
{
    const struct place *place = *state;
    shell(place, "cd .. && rm -rf home outside");
    return 0;
}

/* Runs `history` in the home with up to eight more words; its status, and what it said. */
static int history(const struct place *place,
                   const char *const *more,
                   bool is_stranger,
                   char **out,
                   char **err)
{
    struct program program;
    const char *words[14] = {"history", "--home", place->home};
    for (size_t i = 0; more[i] != NULL; i++) {
        words[3 + i] = more[i];
    }
    const struct program_config config = {
        .scratch = &place->scratch, .name = "run", .words = words, .is_stranger = is_stranger};
    program_start(&program, &config);
    const int status = program_wait(&program);
    *out = program_read_out(&program);
    *err = program_read_err(&program);
    return status;
}

static void
check(const struct place *place, const char *const *more, int status, const char *says)
{
    char *out = NULL;
    char *err = NULL;
    const int got = history(place, more, false, &out, &err);
    if (got != status || (strstr(err, says) == NULL && strstr(out, says) == NULL)) {
        fail_msg("status %d, said %s%s, not %s", got, out, err, says);
    }
    free(out);
    free(err);
}

/* The list, as a program reads it. */
static char *list(const struct place *place, const char *const *more)
{
    char *out = NULL;
    char *err = NULL;
    assert_int_equal(history(place, more, false, &out, &err), 0);
    free(err);
    return out;
}

static void test_what_is_refused_changes_nothing(void **state)
{
    const struct place *place = *state;
    const uint64_t before = said_sum(place->recordings);
    const char *nobody[] = {"--forget", "plover", "--yes", "--confirm", "plover", NULL};
    const char *unasked[] = {"--forget", "wren", NULL};
    const char *other[] = {"--forget", "wren", "--yes", "--confirm", "rook", NULL};
    const char *alone[] = {"--forget", "wren", "--confirm", "wren", NULL};
    const char *idle[] = {"--yes", NULL};
    const char *both[] = {"--forget", "wren", "--unhide", "wren", NULL};
    const char *shown[] = {"--unhide", "wren", NULL};
    const char *empty[] = {"--forget", "", "--yes", NULL};
    check(place, nobody, 1, "there is no recording and no file of that name");
    check(place, unasked, 1, "a-wren: 3 files");
    check(place, unasked, 1, "people/wren.json");
    check(place, unasked, 1, "2 recordings, ");
    check(place, unasked, 1, "nobody is here to be asked");
    check(place, other, 2, "'rook' is another name than 'wren'");
    check(place, alone, 2, "give --forget ATHLETE and --yes too");
    check(place, idle, 2, "nothing is asked here");
    check(place, both, 2, "does not go with --forget");
    check(place, shown, 1, "this athlete is not hidden");
    check(place, empty, 1, "this is no name");
    assert_true(said_sum(place->recordings) == before);
    assert_true(is_in_home(place, "people/wren.json"));
    assert_false(is_in_home(place, "people/plover.json"));
}

static void test_hidden_and_taken_back(void **state)
{
    const struct place *place = *state;
    struct program program;
    const char *json[] = {"--format", "json", NULL};
    const char *hide[] = {"--forget", "wren", "--yes", NULL};
    const char *back[] = {"--unhide", "wren", "--format", "json", NULL};
    const char *words[] = {"consistency", "wren", "--home", place->home, NULL};
    char *before = list(place, json);
    assert_non_null(strstr(before, "wren"));
    const uint64_t sum = said_sum(place->recordings);
    check(place, hide, 0, "wren is hidden");
    char *hidden = list(place, json);
    assert_null(strstr(hidden, "wren"));
    assert_non_null(strstr(hidden, "rook"));
    assert_int_equal(program_run(&program, &place->scratch, "run", words), 1);
    char *said = program_read_err(&program);
    assert_non_null(strstr(said, "this athlete is hidden"));
    free(said);
    char *after = list(place, back);
    assert_string_equal(after, before);
    assert_true(said_sum(place->recordings) == sum);
    free(before);
    free(hidden);
    free(after);
}

static void test_all_goes_and_nothing_else(void **state)
{
    const struct place *place = *state;
    const char *all[] = {"--forget", "wren", "--yes", "--confirm", "wren", NULL};
    const char *json[] = {"--format", "json", NULL};
    char rook[2 * SCRATCH_PATH_BYTES];
    (void)snprintf(rook, sizeof rook, "%s/b-rook", place->recordings);
    free(list(place, json)); /* the index knows them */
    shell(place,
          "mkdir ../outside && cp -a recordings/c-wren ../outside/linked && "
          "ln -s ../../outside/linked recordings/d-link && "
          "printf v > recordings/a-wren/video.mp4 && "
          "printf o > ../outside/sound && ln -s ../../outside/sound recordings/a-wren/x && "
          "mkdir recordings/e-broken && printf '{' > recordings/e-broken/recording.json");
    const uint64_t before = said_sum(rook);
    check(place, all, 0, "2 recordings removed");
    assert_true(said_sum(rook) == before);
    assert_false(is_in_home(place, "people/wren.json"));
    assert_false(is_in_home(place, "recordings/c-wren"));
    assert_true(is_in_home(place, "recordings/a-wren/video.mp4"));
    assert_true(is_in_home(place, "recordings/a-wren/x"));
    assert_false(is_in_home(place, "recordings/a-wren/recording.json"));
    assert_true(is_in_home(place, "recordings/d-link"));
    assert_true(is_in_home(place, "../outside/linked/recording.json"));
    assert_true(is_in_home(place, "../outside/sound"));
    assert_true(is_in_home(place, "recordings/e-broken/recording.json"));
    shell(place, "! grep -q wren history.sqlite && ! grep -qs wren history.sqlite-wal");
    char *left = list(place, json);
    assert_null(strstr(left, "wren"));
    assert_non_null(strstr(left, "rook"));
    free(left);
    check(place, all, 1, "there is no recording and no file of that name");
}

/* Folders named go too where her recordings lie; a file alone is something to forget. */
static void test_elsewhere_and_a_file_alone(void **state)
{
    const struct place *place = *state;
    char outside[SCRATCH_PATH_BYTES];
    scratch_path(&place->scratch, "outside", outside);
    shell(place, "mkdir ../outside && mv recordings/* ../outside/ && rmdir recordings");
    const char *here[] = {"--forget", "wren", "--yes", NULL};
    const char *there[] = {outside, "--forget", "wren", "--yes", "--confirm", "wren", NULL};
    check(place, here, 0, "0 recordings, 0 files");
    check(place, there, 0, "2 recordings removed");
    assert_false(is_in_home(place, "../outside/a-wren"));
    assert_true(is_in_home(place, "../outside/b-rook"));
    assert_false(is_in_home(place, "people/wren.json"));
}

/* What cannot be removed keeps her hidden; the next run ends it. */
static void test_a_folder_that_may_not_be_written(void **state)
{
    const struct place *place = *state;
    const char *all[] = {"--forget", "wren", "--yes", "--confirm", "wren", NULL};
    const char *json[] = {"--format", "json", NULL};
    char *out = NULL;
    char *err = NULL;
    shell(place, "chmod -R a+rwX . && chmod 0555 recordings/a-wren");
    const int status = history(place, all, true, &out, &err);
    assert_int_equal(status, 1);
    assert_non_null(strstr(err, "stays: "));
    assert_non_null(strstr(err, "a-wren"));
    assert_non_null(strstr(err, "1 recording removed"));
    assert_non_null(strstr(err, "she stays hidden"));
    assert_true(is_in_home(place, "people/wren.json"));
    assert_true(is_in_home(place, "recordings/a-wren/recording.json"));
    assert_false(is_in_home(place, "recordings/c-wren"));
    free(out);
    free(err);
    char *left = list(place, json);
    assert_null(strstr(left, "wren"));
    free(left);
    shell(place, "chmod 0755 recordings/a-wren");
    check(place, all, 0, "1 recording removed");
    assert_false(is_in_home(place, "people/wren.json"));
}

/* Answers typed at a terminal, "" at the end; what it says last. */
static void answer(const struct place *place, const char *const *answers, const char *says)
{
    struct screen screen;
    struct program program;
    const char *words[] = {"history", "--home", place->home, "--forget", "wren", NULL};
    screen_open(&screen, 80);
    const struct program_config config = {
        .scratch = &place->scratch, .name = "asked", .words = words, .screen = screen.path};
    program_start(&program, &config);
    screen_await(&screen, "2 recordings, ");
    screen_await(&screen, "Hide? yes or no:");
    screen_type(&screen, answers[0]);
    if (answers[1] != NULL) {
        screen_await(&screen, "Remove:");
        screen_type(&screen, answers[1]);
    }
    screen_await(&screen, says);
    assert_int_equal(program_wait(&program), 0);
    screen_close(&screen);
}

static void test_asked_at_a_terminal(void **state)
{
    const struct place *place = *state;
    const char *no[] = {"no\n", NULL};
    const char *end[] = {"\n", NULL};
    const char *hide[] = {"yes\n", "yes\n"};
    const char *all[] = {"yes\n", "wren\n"};
    const uint64_t before = said_sum(place->recordings);
    answer(place, no, "nothing was changed");
    answer(place, end, "nothing was changed");
    shell(place, "! grep -q hidden_on people/wren.json");
    answer(place, hide, "nothing was removed");
    shell(place, "grep -q hidden_on people/wren.json");
    assert_true(said_sum(place->recordings) == before);
    answer(place, all, "2 recordings removed");
    assert_false(is_in_home(place, "people/wren.json"));
    assert_false(is_in_home(place, "recordings/a-wren"));
    assert_true(is_in_home(place, "recordings/b-rook"));
}

/* Killed at any moment: the index can be brought up to date, she is hidden or as she was, and
 * the next run removes all that is left. */
static void test_killed_at_any_moment(void **state)
{
    const struct place *place = *state;
    const char *json[] = {"--format", "json", NULL};
    const char *words[] = {"history", "--home",    place->home, "--forget", "wren",
                           "--yes",   "--confirm", "wren",      NULL};
    const char *again[] = {"--forget", "wren", "--yes", "--confirm", "wren", NULL};
    size_t n_cut = 0;
    for (unsigned i = 0; i < 12; i++) {
        struct program program;
        const struct program_config config = {
            .scratch = &place->scratch, .name = "killed", .words = words};
        free(list(place, json));
        program_start(&program, &config);
        program_pause(0.0015 * i);
        (void)kill(program.pid, SIGKILL);
        n_cut += program_wait(&program) == 128 + SIGKILL ? 1 : 0;
        free(list(place, json));
        char *out = NULL;
        char *err = NULL;
        (void)history(place, again, false, &out, &err);
        free(out);
        free(err);
        assert_false(is_in_home(place, "people/wren.json"));
        assert_false(is_in_home(place, "recordings/a-wren"));
        assert_false(is_in_home(place, "recordings/c-wren"));
        assert_true(is_in_home(place, "recordings/b-rook/recording.json"));
        record(place, "a-wren", "wren", 1);
        record(place, "c-wren", "wren", 3);
    }
    assert_true(n_cut > 0);
}

#define IN_A_HOME(test) cmocka_unit_test_setup_teardown(test, open_home, close_home)

int main(void)
{
    const struct CMUnitTest tests[] = {
        IN_A_HOME(test_what_is_refused_changes_nothing),
        IN_A_HOME(test_hidden_and_taken_back),
        IN_A_HOME(test_all_goes_and_nothing_else),
        IN_A_HOME(test_elsewhere_and_a_file_alone),
        IN_A_HOME(test_a_folder_that_may_not_be_written),
        IN_A_HOME(test_asked_at_a_terminal),
        IN_A_HOME(test_killed_at_any_moment),
    };
    return cmocka_run_group_tests(tests, make_scratch, remove_scratch);
}
