/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <jansson.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "loop/program.h"
#include "loop/said.h"
#include "loop/terminal.h"
#include "support/cmocka_all.h"
#include "support/near.h"

/*
 * The ways in which a capture ends: killed, asked to, when its time is over, on a full disk, in
 * a home that cannot be written. What was recorded until then opens and is analysed.
 */

#define RATE_HZ     1000u
#define SLICE_LINES 50u
#define LATE_S      0.1 /* from the port into the file, on a busy machine */

struct place {
    struct scratch scratch;
    char profile[SCRATCH_PATH_BYTES]; /* of lines at RATE_HZ */
};

static int open_place(void **state)
{
    static struct place place;
    struct program program;
    char out[SCRATCH_PATH_BYTES];
    scratch_open(&place.scratch);
    assert_int_equal(chmod(place.scratch.folder, 0755), 0); /* nobody may look, too */
    scratch_path(&place.scratch, "lines.ini", place.profile);
    scratch_path(&place.scratch, "made", out);
    const char *words[] = {"simulate", "--set", "force1000",      "--out",       out,
                           "--draws",  "1",     "--write-sensor", place.profile, NULL};
    assert_int_equal(program_run(&program, &place.scratch, "made", words), 0);
    assert_int_equal(chmod(place.profile, 0644), 0);
    *state = &place;
    return 0;
}

static int close_place(void **state)
{
    struct place *place = *state;
    scratch_close(&place->scratch);
    return 0;
}

static void start(const struct place *place,
                  const struct terminal *terminal,
                  const char *out,
                  const char *seconds,
                  struct program *program)
{
    const char *words[] = {"capture",
                           "--sensor",
                           place->profile,
                           "--port",
                           terminal->path,
                           "--out",
                           out,
                           "--flac",
                           seconds != NULL ? "--seconds" : NULL,
                           seconds,
                           NULL};
    const struct program_config config = {
        .scratch = &place->scratch, .name = "ends", .words = words, .has_keys = true};
    program_start(program, &config);
    terminal_await_reader(terminal);
}

/* Sends lines at their rate, from one time to another. */
static void send_lines(const struct terminal *terminal, double from_s, double until_s)
{
    size_t n = (size_t)(until_s * RATE_HZ);
    for (size_t i = (size_t)(from_s * RATE_HZ); i < n; i += SLICE_LINES) {
        terminal_send_lines(terminal, i, i + SLICE_LINES);
        program_pause((double)SLICE_LINES / RATE_HZ);
    }
}

/* The recording's length by the program's own analysis, which must succeed. */
static double analyze(const struct place *place, const char *folder)
{
    struct program program;
    json_error_t error;
    const char *words[] = {"analyze", folder, "--format", "json", NULL};
    int status = program_run(&program, &place->scratch, "analyze", words);
    if (status != 0) {
        fail_msg("analyze ended with %d: %s", status, program_read_err(&program));
    }
    char *text = program_read_out(&program);
    json_t *json = json_loads(text, JSON_REJECT_DUPLICATES, &error);
    assert_non_null(json);
    double duration_s = json_number_value(json_object_get(json, "duration_s"));
    json_decref(json);
    free(text);
    return duration_s;
}

static bool has_file(const char *folder, const char *name)
{
    char path[2 * SCRATCH_PATH_BYTES];
    (void)snprintf(path, sizeof path, "%s/%s", folder, name);
    return scratch_exists(path);
}

static void check_killed(const struct place *place, const char *name, double after_s)
{
    struct terminal terminal;
    struct program program;
    char out[SCRATCH_PATH_BYTES];
    char json[2 * SCRATCH_PATH_BYTES];
    scratch_path(&place->scratch, name, out);
    (void)snprintf(json, sizeof json, "%s/recording.json", out);
    terminal_open(&terminal);
    start(place, &terminal, out, NULL, &program);
    send_lines(&terminal, 0.0, 0.5);
    program_type(&program, "n gust\n");
    program_await_text(json, "gust");
    send_lines(&terminal, 0.5, after_s);
    assert_int_equal(kill(program.pid, SIGKILL), 0);
    assert_int_equal(program_wait(&program), 128 + SIGKILL);
    terminal_close(&terminal);
    double kept_s = analyze(place, out);
    print_message("killed after %.1f s: %.2f s kept\n", after_s, kept_s);
    assert_true(kept_s >= after_s - 1.0 - LATE_S);
    char *text = scratch_read(json, NULL);
    assert_non_null(strstr(text, "gust"));
    free(text);
}

static void test_killed(void **state)
{
    check_killed(*state, "killed17", 1.7);
    check_killed(*state, "killed36", 3.6);
}

/* Ended cleanly: complete, FLAC in place of WAV, analysed. */
static void
check_clean(const struct place *place, const char *folder, double at_least_s, double at_most_s)
{
    assert_true(has_file(folder, "string.flac"));
    assert_false(has_file(folder, "string.wav"));
    assert_true(has_file(folder, "analysis.json"));
    double kept_s = analyze(place, folder);
    if (!(kept_s >= at_least_s && kept_s <= at_most_s)) {
        fail_msg("%.3f s were kept of %s", kept_s, folder);
    }
}

static void test_signals(void **state)
{
    const struct place *place = *state;
    static const int signals[] = {SIGINT, SIGTERM, SIGHUP};
    for (size_t i = 0; i < sizeof signals / sizeof signals[0]; i++) {
        struct terminal terminal;
        struct program program;
        char name[32];
        char out[SCRATCH_PATH_BYTES];
        (void)snprintf(name, sizeof name, "signal%d", signals[i]);
        scratch_path(&place->scratch, name, out);
        terminal_open(&terminal);
        start(place, &terminal, out, NULL, &program);
        send_lines(&terminal, 0.0, 1.0);
        program_pause(LATE_S);
        assert_int_equal(kill(program.pid, signals[i]), 0);
        assert_int_equal(program_wait(&program), 0);
        terminal_close(&terminal);
        check_clean(place, out, 0.9, 1.1);
    }
}

static void test_seconds_are_over(void **state)
{
    const struct place *place = *state;
    struct terminal terminal;
    struct program program;
    char out[SCRATCH_PATH_BYTES];
    scratch_path(&place->scratch, "seconds", out);
    terminal_open(&terminal);
    start(place, &terminal, out, "1.5", &program);
    send_lines(&terminal, 0.0, 1.2);
    assert_int_equal(program_wait(&program), 0);
    terminal_close(&terminal);
    check_clean(place, out, 1.1, 1.3);
}

/* Saved lines: from..until of terminal_send_lines. */
static void save_lines(const char *path, size_t n)
{
    FILE *file = fopen(path, "w");
    assert_non_null(file);
    for (size_t i = 0; i < n; i++) {
        (void)fprintf(file, "%zu,812\n", RATE_HZ * i);
    }
    assert_int_equal(fclose(file), 0);
}

static void test_a_full_disk(void **state)
{
    const struct place *place = *state;
    struct program program;
    char lines[SCRATCH_PATH_BYTES];
    char out[SCRATCH_PATH_BYTES];
    scratch_path(&place->scratch, "lines.txt", lines);
    scratch_path(&place->scratch, "full", out);
    save_lines(lines, 30 * RATE_HZ);
    const char *words[] = {
        "capture", "--sensor", place->profile, "--port", lines, "--replay", "--out", out, NULL};
    const struct program_config config = {
        .scratch = &place->scratch, .name = "ends", .words = words, .file_max_bytes = 30000};
    program_start(&program, &config);
    assert_int_equal(program_wait(&program), 1);
    char *err = program_read_err(&program);
    char *line = strstr(err, "stringhand: ");
    if (line == NULL || strstr(line, "string.wav: ") == NULL || strstr(line, "; ") == NULL ||
        strchr(line, '\n') == NULL || strchr(line, '\n')[1] != '\0') {
        fail_msg("a full disk was told so: %s", err);
    }
    free(err);
    double kept_s = analyze(place, out);
    print_message("%.3f s fit\n", kept_s);
    assert_true(kept_s > 10.0 && kept_s < 15.0); /* 2 bytes a frame */
}

static void test_a_home_that_cannot_be_written(void **state)
{
    const struct place *place = *state;
    struct program program;
    char lines[SCRATCH_PATH_BYTES];
    char closed[SCRATCH_PATH_BYTES];
    char home[SCRATCH_PATH_BYTES];
    scratch_path(&place->scratch, "few.txt", lines);
    scratch_path(&place->scratch, "closed", closed);
    scratch_path(&place->scratch, "closed/home", home);
    save_lines(lines, RATE_HZ);
    assert_int_equal(chmod(lines, 0644), 0);
    assert_int_equal(mkdir(closed, 0555), 0);
    const char *words[] = {"capture",  "--sensor", place->profile, "--port", lines,
                           "--replay", "--home",   home,           NULL};
    const struct program_config config = {
        .scratch = &place->scratch, .name = "ends", .words = words, .is_stranger = true};
    program_start(&program, &config);
    int status = program_wait(&program);
    said_check(&program, status, 1, home);
    assert_false(scratch_exists(home));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_killed),
        cmocka_unit_test(test_signals),
        cmocka_unit_test(test_seconds_are_over),
        cmocka_unit_test(test_a_full_disk),
        cmocka_unit_test(test_a_home_that_cannot_be_written),
    };
    return cmocka_run_group_tests(tests, open_place, close_place);
}
