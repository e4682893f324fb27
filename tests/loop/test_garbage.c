/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "loop/program.h"
#include "loop/said.h"
#include "loop/terminal.h"
#include "signal/random.h"
#include "support/cmocka_all.h"

/*
 * Bytes of no sense at full speed: counted, told in one line, held in no memory, and written
 * down where good frames came as well.
 */

#define GARBAGE_BYTES 2000000u
#define LITTLE_BYTES  1000000u
#define MUCH_BYTES    12000000u
#define MORE_KIB      3000 /* far less than the bytes between little and much */
#define N_LINES       3000u

struct place {
    struct scratch scratch;
    char lines[SCRATCH_PATH_BYTES]; /* profiles */
    char packets[SCRATCH_PATH_BYTES];
};

static void write_profile(const struct place *place, const char *set, const char *profile)
{
    struct program program;
    char out[SCRATCH_PATH_BYTES];
    scratch_path(&place->scratch, set, out);
    const char *words[] = {"simulate", "--set",          set,     "--out", out, "--draws",
                           "1",        "--write-sensor", profile, NULL};
    assert_int_equal(program_run(&program, &place->scratch, "profile", words), 0);
}

static int open_place(void **state)
{
    static struct place place;
    scratch_open(&place.scratch);
    scratch_path(&place.scratch, "lines.ini", place.lines);
    scratch_path(&place.scratch, "packets.ini", place.packets);
    write_profile(&place, "force1000", place.lines);
    write_profile(&place, "force_bow", place.packets);
    *state = &place;
    return 0;
}

static int close_place(void **state)
{
    struct place *place = *state;
    scratch_close(&place->scratch);
    return 0;
}

/* A number of the line "frames: 0 good, ..." that stands before a word. */
static unsigned long find_count(const char *err, const char *word)
{
    const char *at = strstr(err, word);
    if (strncmp(err, "frames: ", 8) != 0 || at == NULL) {
        fail_msg("no '%s' in: %s", word, err);
        return 0;
    }
    while (at > err && at[-1] != ' ') {
        at--;
    }
    return strtoul(at, NULL, 10);
}

static void check_counts(const struct program *program, size_t n_bytes)
{
    char *err = program_read_err(program);
    assert_int_equal(find_count(err, " good"), 0);
    assert_true(find_count(err, " damaged") > 10);
    assert_in_range(find_count(err, " bytes skipped"), n_bytes / 2, n_bytes);
    free(err);
}

static void start_capture(const struct place *place,
                          const char *sensor,
                          const char *port,
                          const char *out,
                          bool is_replay,
                          struct program *program)
{
    const char *words[] = {"capture", "--sensor", sensor, "--port",
                           port,      "--out",    out,    is_replay ? "--replay" : NULL,
                           NULL};
    const struct program_config config = {
        .scratch = &place->scratch, .name = "garbage", .words = words};
    program_start(program, &config);
}

static void check_port(const struct place *place, const char *sensor, bool is_replay)
{
    struct terminal terminal;
    struct program program;
    char out[SCRATCH_PATH_BYTES];
    scratch_path(&place->scratch, "never", out);
    terminal_open(&terminal);
    start_capture(place, sensor, terminal.path, out, is_replay, &program);
    terminal_await_reader(&terminal);
    terminal_send_garbage(&terminal, GARBAGE_BYTES);
    terminal_close(&terminal);
    int status = program_wait(&program);
    said_check(&program, status, 2, terminal.path);
    check_counts(&program, GARBAGE_BYTES);
    assert_false(scratch_exists(out));
}

static void test_from_a_port(void **state)
{
    const struct place *place = *state;
    check_port(place, place->lines, false);
    check_port(place, place->packets, false);
    check_port(place, place->lines, true);
    check_port(place, place->packets, true);
}

static void write_garbage(const char *path, size_t n_bytes)
{
    struct sh_random random;
    FILE *file = fopen(path, "wb");
    assert_non_null(file);
    sh_random_init(&random, 12);
    for (size_t i = 0; i < n_bytes; i++) {
        (void)putc((int)sh_random_get_below(&random, 256), file);
    }
    assert_int_equal(fclose(file), 0);
}

/* The memory that a capture of a file of garbage took. */
static long measure_file(const struct place *place, const char *sensor, size_t n_bytes)
{
    struct program program;
    char path[SCRATCH_PATH_BYTES];
    char out[SCRATCH_PATH_BYTES];
    scratch_path(&place->scratch, "garbage.bin", path);
    scratch_path(&place->scratch, "never", out);
    write_garbage(path, n_bytes);
    start_capture(place, sensor, path, out, true, &program);
    int status = program_wait(&program);
    said_check(&program, status, 2, path);
    check_counts(&program, n_bytes);
    assert_false(scratch_exists(out));
    return program.peak_kib;
}

static void test_from_a_file_in_bounded_memory(void **state)
{
    const struct place *place = *state;
    const char *const sensors[] = {place->lines, place->packets};
    for (size_t i = 0; i < 2; i++) {
        long little_kib = measure_file(place, sensors[i], LITTLE_BYTES);
        long much_kib = measure_file(place, sensors[i], MUCH_BYTES);
        print_message("%u bytes: %ld KiB, %u bytes: %ld KiB\n", LITTLE_BYTES, little_kib,
                      MUCH_BYTES, much_kib);
        assert_true(little_kib > 0);
        assert_true(much_kib < little_kib + MORE_KIB);
    }
}

/* Good lines between: the recording is made, and says how much was not good. */
static void test_around_good_frames(void **state)
{
    const struct place *place = *state;
    struct terminal terminal;
    struct program program;
    char out[SCRATCH_PATH_BYTES];
    char json[SCRATCH_PATH_BYTES];
    char said[64];
    scratch_path(&place->scratch, "noisy", out);
    scratch_path(&place->scratch, "noisy/recording.json", json);
    terminal_open(&terminal);
    start_capture(place, place->lines, terminal.path, out, true, &program);
    terminal_await_reader(&terminal);
    terminal_send_garbage(&terminal, GARBAGE_BYTES);
    terminal_send(&terminal, "\n", 1);
    terminal_send_lines(&terminal, 0, N_LINES);
    terminal_send_garbage(&terminal, GARBAGE_BYTES);
    terminal_close(&terminal);
    assert_int_equal(program_wait(&program), 0);
    char *err = program_read_err(&program);
    char *text = scratch_read(json, NULL);
    const struct {
        const char *word;
        const char *key;
    } counts[] = {
        {" good", "good"}, {" damaged", "damaged"}, {" bytes skipped", "skipped_bytes"}};
    for (size_t i = 0; i < sizeof counts / sizeof counts[0]; i++) {
        (void)snprintf(said, sizeof said, "\"%s\": %lu", counts[i].key,
                       find_count(err, counts[i].word));
        if (strstr(text, said) == NULL) {
            fail_msg("no %s in: %s", said, text);
        }
    }
    assert_int_equal(find_count(err, " good"), N_LINES);
    assert_int_equal(find_count(err, " lost"), 0);
    assert_true(find_count(err, " bytes skipped") > GARBAGE_BYTES);
    free(text);
    free(err);
}

/* A port that ends without a byte, a file without one, a silent standard input. */
static void test_nothing_at_all(void **state)
{
    const struct place *place = *state;
    struct program program;
    char path[SCRATCH_PATH_BYTES];
    char out[SCRATCH_PATH_BYTES];
    scratch_path(&place->scratch, "never", out);
    scratch_path(&place->scratch, "none.bin", path);
    scratch_write(path, "", 0);
    const char *const ports[] = {path, "-"};
    for (size_t i = 0; i < 2; i++) {
        start_capture(place, place->lines, ports[i], out, false, &program);
        int status = program_wait(&program);
        said_check(&program, status, 2, "not one good frame came");
        assert_false(scratch_exists(out));
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_from_a_port),
        cmocka_unit_test(test_from_a_file_in_bounded_memory),
        cmocka_unit_test(test_around_good_frames),
        cmocka_unit_test(test_nothing_at_all),
    };
    return cmocka_run_group_tests(tests, open_place, close_place);
}
