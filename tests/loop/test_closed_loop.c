/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <jansson.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "loop/program.h"
#include "loop/said.h"
#include "loop/sensor.h"
#include "support/cmocka_all.h"
#include "support/near.h"

/*
 * The closed loop: a simulated sensor of known truth speaks through a terminal port, the real
 * program records it, and what it showed live is to the bit what the folder gives again.
 */

/* A capture that ends well; gives what it printed. */
static char *capture(const struct scratch *scratch, const char *const *words, const char *input)
{
    struct program program;
    const struct program_config config = {
        .scratch = scratch, .name = "capture", .words = words, .input = input};
    program_start(&program, &config);
    int status = program_wait(&program);
    if (status != 0) {
        fail_msg("capture ended with %d: %s", status, program_read_err(&program));
    }
    return program_read_out(&program);
}

static char *analyze(const struct scratch *scratch, const char *folder, const char *option)
{
    struct program program;
    const char *words[] = {"analyze", folder, "--format", "json", option, NULL};
    assert_int_equal(program_run(&program, scratch, "analyze", words), 0);
    return program_read_out(&program);
}

/* Live is the first pass, the stored analysis the second; looking changes nothing. */
static void check_same(const struct scratch *scratch, const char *folder, const char *live)
{
    char path[SCRATCH_PATH_BYTES];
    uint64_t before = said_sum(folder);
    char *first = analyze(scratch, folder, "--first-pass");
    char *second = analyze(scratch, folder, NULL);
    (void)snprintf(path, sizeof path, "%s/analysis.json", folder);
    char *stored = scratch_read(path, NULL);
    assert_string_equal(live, first);
    assert_string_equal(stored, second);
    assert_string_not_equal(first, second); /* the clocks' later anchors move its times */
    assert_true(before == said_sum(folder));
    free(first);
    free(second);
    free(stored);
}

static json_t *load(const char *text)
{
    json_error_t error;
    json_t *json = json_loads(text, JSON_REJECT_DUPLICATES, &error);
    if (json == NULL) {
        fail_msg("%s in: %s", error.text, text);
    }
    return json;
}

static double get_number(const json_t *shot, const char *group, const char *key)
{
    const json_t *value = json_object_get(json_object_get(shot, group), key);
    assert_true(json_is_number(value));
    return json_number_value(value);
}

/* Each draw was found, in its kind, and held as long as it was. */
static void check_truth(const char *live, const char *truth_path)
{
    char *text = scratch_read(truth_path, NULL);
    json_t *truth = load(text);
    json_t *shown = load(live);
    const json_t *draws = json_object_get(truth, "draws");
    const json_t *shots = json_object_get(shown, "shots");
    assert_true(json_array_size(draws) > 0);
    assert_int_equal(json_array_size(shots), json_array_size(draws));
    for (size_t i = 0; i < json_array_size(draws); i++) {
        const json_t *draw = json_array_get(draws, i);
        const json_t *shot = json_array_get(shots, i);
        assert_string_equal(json_string_value(json_object_get(shot, "kind")),
                            json_string_value(json_object_get(draw, "kind")));
        double u_s = get_number(shot, "measures", "hold_time_u_s");
        assert_true(u_s > 0.0 && u_s < 0.1);
        assert_near(get_number(shot, "measures", "hold_time_s"),
                    get_number(draw, "measures", "hold_time_s"), 4.0 * u_s, 0.0);
    }
    json_decref(shown);
    json_decref(truth);
    free(text);
}

/* Faster than real, by the sensor's own clock. */
static void check_set(const struct scratch *scratch, const char *set, const char *flac)
{
    struct sensor sensor;
    char out[SCRATCH_PATH_BYTES];
    char name[64];
    (void)snprintf(name, sizeof name, "loop_%s", set);
    scratch_path(scratch, name, out);
    const struct sensor_config config = {scratch, set, set, "3", "40"};
    sensor_start(&sensor, &config);
    const char *words[] = {"capture",   "--sensor", sensor.profile, "--port",
                           sensor.port, "--replay", "--out",        out,
                           "--format",  "json",     flac,           NULL};
    char *live = capture(scratch, words, NULL);
    sensor_end(&sensor);
    check_same(scratch, out, live);
    check_truth(live, sensor.truth);
    free(live);
}

static void test_live_is_the_first_pass_of_lines(void **state)
{
    check_set(*state, "force80", NULL);
    check_set(*state, "contact", "--flac");
}

static void test_live_is_the_first_pass_of_packets(void **state)
{
    check_set(*state, "force_bow", NULL);
    check_set(*state, "all", "--flac");
}

/* Real time, two sensors with clocks of their own, anchors from the arrival of bytes. */
static void test_two_sensors_in_real_time(void **state)
{
    const struct scratch *scratch = *state;
    struct sensor string;
    struct sensor bow;
    char out[SCRATCH_PATH_BYTES];
    scratch_path(scratch, "real", out);
    const struct sensor_config strings = {scratch, "string", "force1000", "1", "1"};
    const struct sensor_config bows = {scratch, "bow", "bow", "1", "1"};
    sensor_start(&string, &strings);
    sensor_start(&bow, &bows);
    const char *words[] = {"capture",  "--sensor",  string.profile, "--port", string.port,
                           "--sensor", bow.profile, "--port",       bow.port, "--out",
                           out,        "--format",  "json",         NULL};
    char *live = capture(scratch, words, NULL);
    sensor_end(&string);
    sensor_end(&bow);
    check_same(scratch, out, live);
    check_truth(live, string.truth);
    free(live);
}

/* Saved bytes give the same from a file, again, and through standard input. */
static void test_replay_of_saved_bytes(void **state)
{
    const struct scratch *scratch = *state;
    static const char *const folders[] = {"a", "b", "c"};
    struct sensor sensor;
    char bytes[SCRATCH_PATH_BYTES];
    char *live[3];
    scratch_path(scratch, "saved.bin", bytes);
    const struct sensor_config config = {scratch, "saved", "force_bow", "2", "40"};
    sensor_start(&sensor, &config);
    sensor_save(&sensor, bytes);
    for (size_t i = 0; i < 3; i++) {
        char folder[SCRATCH_PATH_BYTES];
        char out[SCRATCH_PATH_BYTES];
        char way[64];
        (void)snprintf(way, sizeof way, "%s_saved", folders[i]);
        scratch_path(scratch, way, folder);
        assert_int_equal(mkdir(folder, 0755), 0); /* so that the recordings share a name */
        (void)snprintf(out, sizeof out, "%.400s/kiln", folder);
        const char *words[] = {"capture",
                               "--sensor",
                               sensor.profile,
                               "--port",
                               i < 2 ? bytes : "-",
                               "--replay",
                               "--out",
                               out,
                               "--format",
                               "json",
                               NULL};
        live[i] = capture(scratch, words, i < 2 ? NULL : bytes);
        check_same(scratch, out, live[i]);
    }
    check_truth(live[0], sensor.truth);
    assert_string_equal(live[0], live[1]);
    assert_string_equal(live[0], live[2]);
    for (size_t i = 0; i < 3; i++) {
        free(live[i]);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_live_is_the_first_pass_of_lines),
        cmocka_unit_test(test_live_is_the_first_pass_of_packets),
        cmocka_unit_test(test_two_sensors_in_real_time),
        cmocka_unit_test(test_replay_of_saved_bytes),
    };
    return cmocka_run_group_tests(tests, scratch_set_up, scratch_tear_down);
}
