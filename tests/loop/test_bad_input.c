/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "loop/program.h"
#include "loop/said.h"
#include "support/cmocka_all.h"

/*
 * What people give to a program by mistake. Each ends with exit status 1, nothing on standard
 * output and one line on standard error: where, what, and what to do. Under the sanitizers a
 * fault of the program shows as another status.
 */

struct place {
    struct scratch scratch;
    char good[SCRATCH_PATH_BYTES];   /* a recording */
    char sensor[SCRATCH_PATH_BYTES]; /* a profile of lines */
};

static void simulate(const struct place *place, const char *const *words)
{
    struct program program;
    assert_int_equal(program_run(&program, &place->scratch, "simulate", words), 0);
}

static int open_place(void **state)
{
    static struct place place;
    scratch_open(&place.scratch);
    assert_int_equal(chmod(place.scratch.folder, 0755), 0); /* nobody may look, too */
    scratch_path(&place.scratch, "good", place.good);
    scratch_path(&place.scratch, "sensor.ini", place.sensor);
    const char *lines[] = {"simulate", "--out", place.good,       "--set",      "force1000",
                           "--draws",  "1",     "--write-sensor", place.sensor, NULL};
    simulate(&place, lines);
    assert_int_equal(chmod(place.sensor, 0644), 0);
    *state = &place;
    return 0;
}

static int close_place(void **state)
{
    struct place *place = *state;
    scratch_close(&place->scratch);
    return 0;
}

static void check(const struct place *place, const char *const *words, const char *says)
{
    struct program program;
    int status = program_run(&program, &place->scratch, "bad", words);
    said_check(&program, status, 1, says);
}

/* The same without privileges, as one who is not root sees it. */
static void
check_stranger(const struct place *place, const char *const *words, const char *says)
{
    struct program program;
    const struct program_config config = {
        .scratch = &place->scratch, .name = "bad", .words = words, .is_stranger = true};
    program_start(&program, &config);
    int status = program_wait(&program);
    said_check(&program, status, 1, says);
}

static void copy_file(const char *from, const char *to)
{
    size_t n_bytes = 0;
    char *bytes = scratch_read(from, &n_bytes);
    scratch_write(to, bytes, n_bytes);
    free(bytes);
}

/* A copy of the good recording that a case may spoil. */
static void copy_good(const struct place *place,
                      char folder[SCRATCH_PATH_BYTES],
                      char json[SCRATCH_PATH_BYTES],
                      char audio[SCRATCH_PATH_BYTES])
{
    static unsigned n;
    char name[64];
    char from[SCRATCH_PATH_BYTES];
    (void)snprintf(name, sizeof name, "spoilt%u", n++);
    scratch_path(&place->scratch, name, folder);
    assert_int_equal(mkdir(folder, 0755), 0);
    (void)snprintf(name + strlen(name), 32, "/recording.json");
    scratch_path(&place->scratch, name, json);
    scratch_path(&place->scratch, "good/recording.json", from);
    copy_file(from, json);
    (void)snprintf(strchr(name, '/'), 32, "/string.wav");
    scratch_path(&place->scratch, name, audio);
    scratch_path(&place->scratch, "good/string.wav", from);
    copy_file(from, audio);
}

/* What cannot be used is left as it is, too. */
static void check_analyze(const struct place *place, const char *folder, const char *says)
{
    uint64_t before = said_sum(folder);
    const char *words[] = {"analyze", folder, NULL};
    check(place, words, says);
    const char *report[] = {"report", folder, NULL};
    check(place, report, says);
    assert_int_equal(said_sum(folder), before);
}

/* Replaces a text in recording.json and looks what analyze says. */
static void
check_edit(const struct place *place, const char *before, const char *after, const char *says)
{
    char folder[SCRATCH_PATH_BYTES];
    char json[SCRATCH_PATH_BYTES];
    char audio[SCRATCH_PATH_BYTES];
    copy_good(place, folder, json, audio);
    char *text = scratch_read(json, NULL);
    char *at = strstr(text, before);
    assert_non_null(at);
    size_t n_bytes = strlen(text) + strlen(after) + 1;
    char *edited = malloc(n_bytes);
    assert_non_null(edited);
    (void)snprintf(edited, n_bytes, "%.*s%s%s", (int)(at - text), text, after,
                   at + strlen(before));
    scratch_write(json, edited, strlen(edited));
    free(edited);
    free(text);
    check_analyze(place, folder, says);
}

static void test_recordings_with_a_wrong_text(void **state)
{
    static const struct {
        const char *before;
        const char *after;
        const char *says;
    } edits[] = {
        {"\"rate_hz\": 1000", "\"rate_hz\": 0", "rate_hz"},
        {"\"rate_hz\": 1000", "\"rate_hz\": -1000", "rate_hz"},
        {"\"rate_hz\": 1000", "\"rate_hz\": 1e999", "recording.json"},
        {"\"rate_hz\": 1000", "\"rate_hz\": \"1000\"", "rate_hz"},
        {"\"string_force\"", "\"string_tension\"", "role"},
        {"\"string_force\"", "7", "role"},
        {"\"stringhand-recording\"", "\"some-other\"", "format"},
        {"\"version\": 1", "\"version\": 2", "version"},
        {"\"string.wav\"", "\"../good/string.wav\"", "file"},
        {"\"string.wav\"", "\"absent.wav\"", "absent.wav"},
        {"\"channels\"", "\"chanels\"", "channels"},
        {"\"streams\"", "\"brooks\"", "streams"},
        {"[10000,", "[0,", "clock"},
        {"\"scale\": 0.0125", "\"scale\": null", "scale"},
    };
    for (size_t i = 0; i < sizeof edits / sizeof edits[0]; i++) {
        check_edit(*state, edits[i].before, edits[i].after, edits[i].says);
    }
}

/* Cut off anywhere it is told, never taken for whole. */
static void test_recordings_cut_off(void **state)
{
    const struct place *place = *state;
    char folder[SCRATCH_PATH_BYTES];
    char json[SCRATCH_PATH_BYTES];
    char audio[SCRATCH_PATH_BYTES];
    copy_good(place, folder, json, audio);
    size_t n_bytes = 0;
    char *text = scratch_read(json, &n_bytes);
    const size_t cuts[] = {0, 1, 40, n_bytes / 2, n_bytes - 3};
    for (size_t i = 0; i < sizeof cuts / sizeof cuts[0]; i++) {
        scratch_write(json, text, cuts[i]);
        check_analyze(place, folder, "recording.json");
    }
    scratch_write(json, "\0\0\0\0", 4);
    check_analyze(place, folder, "recording.json");
    assert_int_equal(unlink(json), 0);
    check_analyze(place, folder, "recording.json");
    free(text);
}

static void test_audio_that_is_none(void **state)
{
    const struct place *place = *state;
    char folder[SCRATCH_PATH_BYTES];
    char json[SCRATCH_PATH_BYTES];
    char audio[SCRATCH_PATH_BYTES];
    copy_good(place, folder, json, audio);
    static const char song[] = "This is a text, not a sound, whatever its name says.\n";
    scratch_write(audio, song, sizeof song - 1);
    check_analyze(place, folder, "string.wav");
    scratch_write(audio, "", 0);
    check_analyze(place, folder, "string.wav");
    size_t n_bytes = 0;
    char from[SCRATCH_PATH_BYTES];
    scratch_path(&place->scratch, "good/string.wav", from);
    char *bytes = scratch_read(from, &n_bytes);
    scratch_write(audio, bytes, 30); /* within its header */
    check_analyze(place, folder, "string.wav");
    scratch_write(audio, bytes, 44); /* the header alone: no frame */
    check_analyze(place, folder, "spoilt");
    free(bytes);
    assert_int_equal(unlink(audio), 0);
    check_analyze(place, folder, "string.wav");
    assert_int_equal(mkdir(audio, 0755), 0);
    check_analyze(place, folder, "string.wav");
}

static void test_folders_that_are_none(void **state)
{
    const struct place *place = *state;
    char path[SCRATCH_PATH_BYTES];
    scratch_path(&place->scratch, "nowhere", path);
    check_analyze(place, path, "nowhere");
    check_analyze(place, place->sensor, "sensor.ini");
    check_analyze(place, "", "recording.json");
    scratch_path(&place->scratch, "empty", path);
    assert_int_equal(mkdir(path, 0755), 0);
    check_analyze(place, path, "recording.json");
}

static void test_no_permission(void **state)
{
    const struct place *place = *state;
    char folder[SCRATCH_PATH_BYTES];
    char json[SCRATCH_PATH_BYTES];
    char audio[SCRATCH_PATH_BYTES];
    copy_good(place, folder, json, audio);
    const char *analyze[] = {"analyze", folder, NULL};
    assert_int_equal(chmod(json, 0644), 0);
    assert_int_equal(chmod(audio, 0), 0);
    check_stranger(place, analyze, "string.wav");
    assert_int_equal(chmod(json, 0), 0);
    check_stranger(place, analyze, "recording.json");
    assert_int_equal(chmod(folder, 0), 0);
    check_stranger(place, analyze, "ermission");
    assert_int_equal(chmod(folder, 0755), 0);

    char port[SCRATCH_PATH_BYTES];
    char out[SCRATCH_PATH_BYTES];
    scratch_path(&place->scratch, "port", port);
    scratch_path(&place->scratch, "out", out);
    scratch_write(port, "", 0);
    assert_int_equal(chmod(port, 0), 0);
    const char *capture[] = {"capture", "--sensor", place->sensor, "--port",
                             port,      "--out",    out,           NULL};
    check_stranger(place, capture, "port");
    assert_false(scratch_exists(out));
    char closed[SCRATCH_PATH_BYTES];
    scratch_path(&place->scratch, "closed", closed);
    assert_int_equal(mkdir(closed, 0555), 0);
    scratch_path(&place->scratch, "closed/out", out);
    const char *simulate_out[] = {"simulate", "--out", out, "--draws", "1", NULL};
    struct program program;
    const struct program_config config = {
        .scratch = &place->scratch, .name = "bad", .words = simulate_out, .is_stranger = true};
    program_start(&program, &config);
    int status = program_wait(&program);
    said_check(&program, status, 2, out); /* behind the seed */
}

static void test_other_files_that_cannot_be_used(void **state)
{
    const struct place *place = *state;
    char path[SCRATCH_PATH_BYTES];
    scratch_path(&place->scratch, "own.ini", path);
    const char *thresholds[] = {"analyze", place->good, "--thresholds", path, NULL};
    check(place, thresholds, "own.ini");
    scratch_write(path, "[creep]\nleast_n = a lot\n", 24);
    check(place, thresholds, "own.ini:2");
    scratch_write(path, "[creep]\nleast_n = 1e9\n", 22);
    check(place, thresholds, "own.ini:2");
    const char *report[] = {"report", place->good, "--thresholds", path, NULL};
    check(place, report, "own.ini:2");
    scratch_path(&place->scratch, "nowhere", path);
    const char *history[] = {"analyze", place->good, "--history", path, NULL};
    check(place, history, "nowhere");
    scratch_path(&place->scratch, "nowhere/page.html", path);
    const char *page[] = {"report", place->good, "-o", path, NULL};
    check(place, page, "page.html");
}

static void test_simulations_that_cannot_be_put(void **state)
{
    const struct place *place = *state;
    struct program program;
    const char *there[] = {"simulate", "--out", place->good, "--draws", "1", NULL};
    int status = program_run(&program, &place->scratch, "bad", there);
    said_check(&program, status, 2, place->good); /* behind the seed */
    const char *link[] = {"simulate", "--pty", "--link", place->good, "--draws", "1", NULL};
    status = program_run(&program, &place->scratch, "bad", link);
    said_check(&program, status, 2, place->good);
    assert_true(scratch_exists(place->good));
    char path[SCRATCH_PATH_BYTES];
    scratch_path(&place->scratch, "nowhere/truth.json", path);
    const char *truth[] = {"simulate", "--pty", "--write-truth", path, "--draws", "1", NULL};
    status = program_run(&program, &place->scratch, "bad", truth);
    said_check(&program, status, 2, "nowhere/truth.json");
}

static void test_captures_that_cannot_begin(void **state)
{
    const struct place *place = *state;
    char path[SCRATCH_PATH_BYTES];
    char out[SCRATCH_PATH_BYTES];
    scratch_path(&place->scratch, "never", out);
    scratch_path(&place->scratch, "nowhere", path);
    const struct {
        const char *sensor;
        const char *port;
        const char *out;
        const char *says;
    } cases[] = {
        {place->sensor, "/dev/ttyKILN7", out, "/dev/ttyKILN7"},
        {place->sensor, path, out, "nowhere"},
        {place->sensor, place->good, out, "good"},
        {place->sensor, "usb:dead:beef", out, "usb:dead:beef"},
        {place->sensor, "tcp:127.0.0.1:1", out, "127.0.0.1"},
        {place->sensor, "tcp:127.0.0.1", out, "tcp:127.0.0.1"},
        {path, "-", out, "nowhere"},
        {place->good, "-", out, "good"},
        {place->sensor, "-", place->good, "good"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        const char *words[] = {"capture",     "--sensor", cases[i].sensor, "--port",
                               cases[i].port, "--out",    cases[i].out,    NULL};
        check(place, words, cases[i].says);
        assert_false(scratch_exists(out));
    }
    scratch_path(&place->scratch, "bad.ini", path);
    scratch_write(path, "[sensor]\nframing = smoke\n", 25);
    const char *words[] = {"capture", "--sensor", path, "--port", "-", "--out", out, NULL};
    check(place, words, "bad.ini:2");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_recordings_with_a_wrong_text),
        cmocka_unit_test(test_recordings_cut_off),
        cmocka_unit_test(test_audio_that_is_none),
        cmocka_unit_test(test_folders_that_are_none),
        cmocka_unit_test(test_no_permission),
        cmocka_unit_test(test_other_files_that_cannot_be_used),
        cmocka_unit_test(test_simulations_that_cannot_be_put),
        cmocka_unit_test(test_captures_that_cannot_begin),
    };
    return cmocka_run_group_tests(tests, open_place, close_place);
}
