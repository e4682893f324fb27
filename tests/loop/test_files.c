/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "loop/program.h"
#include "recording/folder_lock.h"
#include "support/cmocka_all.h"

/* `export` and `repair` on a recording made by hand, through the real program. */

#define HEAD_BYTES 44u
#define N_FRAMES   6u

static const char json[] =
    "{\"format\": \"stringhand-recording\", \"version\": 1, \"athlete\": \"teal\", "
    "\"streams\": ["
    "{\"name\": \"string\", \"file\": \"string.wav\", \"rate_hz\": 1000, "
    "\"clock\": [[0, 0.5, 0.001], [2, 0.504, 0.001]], "
    "\"gaps\": [{\"frame\": 2, \"frames\": 1}], \"channels\": ["
    "{\"role\": \"string_force\", \"unit\": \"N\", \"scale\": 0.125, \"zero\": 8}]}]}";

struct place {
    struct scratch scratch;
    char folder[SCRATCH_PATH_BYTES];
    char json[SCRATCH_PATH_BYTES];
    char wave[SCRATCH_PATH_BYTES];
    char out[SCRATCH_PATH_BYTES];
    char csv[SCRATCH_PATH_BYTES];
};

/* A WAV of 16 bits at 1000 Hz with the counts 0, 8, 16, ..., whose header counts n_counted. */
static void write_wave(const char *path, unsigned n_counted)
{
    char bytes[HEAD_BYTES + 2 * N_FRAMES] = "RIFF\0\0\0\0WAVEfmt \x10\0\0\0\x01\0\x01\0"
                                            "\xE8\x03\0\0\xD0\x07\0\0\x02\0\x10\0"
                                            "data";
    bytes[4] = (char)(HEAD_BYTES - 8 + 2 * n_counted);
    bytes[40] = (char)(2 * n_counted);
    for (unsigned i = 0; i < N_FRAMES; i++) {
        bytes[HEAD_BYTES + 2 * i] = (char)(8 * i);
    }
    scratch_write(path, bytes, sizeof bytes);
}

static int open_place(void **state)
{
    static struct place place;
    scratch_open(&place.scratch);
    scratch_path(&place.scratch, "evening", place.folder);
    scratch_path(&place.scratch, "evening/recording.json", place.json);
    scratch_path(&place.scratch, "evening/string.wav", place.wave);
    scratch_path(&place.scratch, "csv", place.out);
    scratch_path(&place.scratch, "csv/string.csv", place.csv);
    assert_int_equal(mkdir(place.folder, 0777), 0);
    scratch_write(place.json, json, sizeof json - 1);
    write_wave(place.wave, N_FRAMES);
    *state = &place;
    return 0;
}

static int close_place(void **state)
{
    struct place *place = *state;
    scratch_close(&place->scratch);
    return 0;
}

/* Runs the program: its status, and a part of what it says. */
static void check(const struct place *place,
                  const char *const *words,
                  int status,
                  const char *out,
                  const char *err)
{
    struct program program;
    int got = program_run(&program, &place->scratch, "run", words);
    char *said = program_read_out(&program);
    char *complained = program_read_err(&program);
    assert_int_equal(got, status);
    assert_string_equal(said, out);
    if (strstr(complained, err) == NULL || (err[0] == '\0' && complained[0] != '\0')) {
        fail_msg("'%s' is missing in: %s", err, complained);
    }
    free(said);
    free(complained);
}

static const char csv[] = "time_s,string_force_n,lost\r\n"
                          "0.500000,-1,0\r\n"
                          "0.502000,0,0\r\n"
                          "0.504000,1,1\r\n"
                          "0.506000,2,0\r\n"
                          "0.508000,3,0\r\n"
                          "0.510000,4,0\r\n";

/* Counts in newtons, frames on the common clock, the lost one marked. */
static void test_export(void **state)
{
    const struct place *place = *state;
    const char *to_folder[] = {"export", place->folder, "--out", place->out, NULL};
    const char *to_out[] = {"export", place->folder, NULL};
    const char *one[] = {"export", place->folder, "--stream", "string", NULL};
    check(place, to_folder, 0, "", "");
    char *text = scratch_read(place->csv, NULL);
    assert_string_equal(text, csv);
    free(text);
    check(place, to_out, 0, csv, "");
    check(place, one, 0, csv, "");
}

static void test_export_refuses(void **state)
{
    const struct place *place = *state;
    const char *unknown[] = {"export", place->folder, "--stream", "bow", NULL};
    const char *nowhere[] = {"export", place->out, NULL};
    const char *full[] = {"export", place->folder, "--out", place->out, NULL};
    check(place, unknown, 1, "", "there is no stream 'bow'");
    check(place, nowhere, 1, "", "csv");
    assert_int_equal(mkdir(place->out, 0777), 0);
    scratch_write(place->csv, "mine", 4);
    check(place, full, 1, "", "string.csv: the file cannot be made");
    char *text = scratch_read(place->csv, NULL);
    assert_string_equal(text, "mine");
    free(text);
}

static const char *const *get_repair(const struct place *place)
{
    static const char *words[3];
    words[0] = "repair";
    words[1] = place->folder;
    return words;
}

static void test_nothing_to_repair(void **state)
{
    const struct place *place = *state;
    check(place, get_repair(place), 0, "nothing to repair\n", "");
    char *text = scratch_read(place->json, NULL);
    assert_string_equal(text, json);
    free(text);
}

/* Four frames counted: the other two come back, and nothing but the header changes. */
static void test_repairs_a_header(void **state)
{
    const struct place *place = *state;
    const char *words[] = {"export", place->folder, NULL};
    size_t n_whole = 0;
    size_t n_now = 0;
    char *whole = scratch_read(place->wave, &n_whole);
    write_wave(place->wave, 4);
    check(place, get_repair(place), 0,
          "string.wav: 6 frames are there, the header counted 4; it counts them all now\n", "");
    char *now = scratch_read(place->wave, &n_now);
    assert_int_equal(n_now, n_whole);
    assert_memory_equal(now, whole, n_now);
    check(place, words, 0, csv, "");
    check(place, get_repair(place), 0, "nothing to repair\n", "");
    free(now);
    free(whole);
}

static void test_repairs_json(void **state)
{
    const struct place *place = *state;
    char fresh[SCRATCH_PATH_BYTES];
    char damaged[SCRATCH_PATH_BYTES];
    scratch_path(&place->scratch, "evening/recording.json.new", fresh);
    scratch_path(&place->scratch, "evening/recording.json.damaged", damaged);
    scratch_write(place->json, json, 100);
    check(place, get_repair(place), 1, "", "recording.json");
    scratch_write(fresh, json, 200); /* cut off too: no help */
    check(place, get_repair(place), 1, "", "recording.json");
    scratch_write(fresh, json, sizeof json - 1);
    check(place, get_repair(place), 0,
          "recording.json: could not be read; taken from the rewrite that was cut off "
          "(recording.json.new)\n",
          "");
    char *text = scratch_read(place->json, NULL);
    assert_string_equal(text, json);
    free(text);
    assert_false(scratch_exists(fresh));
    size_t n_bytes = 0;
    text = scratch_read(damaged, &n_bytes);
    assert_int_equal(n_bytes, 100);
    free(text);
}

/* A recording.json that can be read is not replaced, whatever lies beside it. */
static void test_a_good_json_stays(void **state)
{
    const struct place *place = *state;
    char fresh[SCRATCH_PATH_BYTES];
    scratch_path(&place->scratch, "evening/recording.json.new", fresh);
    scratch_write(fresh, "{}", 2);
    check(place, get_repair(place), 0, "nothing to repair\n", "");
    char *text = scratch_read(place->json, NULL);
    assert_string_equal(text, json);
    free(text);
}

static void test_a_running_capture_is_left_alone(void **state)
{
    const struct place *place = *state;
    struct sh_error err = {0};
    int lock = SH_FOLDER_LOCK_NONE;
    write_wave(place->wave, 4);
    assert_int_equal(sh_folder_lock_take(place->folder, &lock, &err), SH_OK);
    check(place, get_repair(place), 1, "", "the recording is being written");
    sh_folder_lock_drop(&lock);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_export, open_place, close_place),
        cmocka_unit_test_setup_teardown(test_export_refuses, open_place, close_place),
        cmocka_unit_test_setup_teardown(test_nothing_to_repair, open_place, close_place),
        cmocka_unit_test_setup_teardown(test_repairs_a_header, open_place, close_place),
        cmocka_unit_test_setup_teardown(test_repairs_json, open_place, close_place),
        cmocka_unit_test_setup_teardown(test_a_good_json_stays, open_place, close_place),
        cmocka_unit_test_setup_teardown(test_a_running_capture_is_left_alone, open_place,
                                        close_place),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
