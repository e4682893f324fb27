/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The real `calibrate`, typed into, with a sensor of known law behind a pseudo-terminal. */
#include <jansson.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/text.h"
#include "loop/calibrating.h"
#include "metrology/scale.h"
#include "sensor/profile.h"
#include "support/cmocka_all.h"
#include "support/near.h"
#include "support/says.h"

#define WRITE_WORDS "Write this into"

static const char fingers_profile[] = "[sensor]\n"
                                      "framing = text\n"
                                      "[stream fingers]\n"
                                      "rate_hz = 500\n"
                                      "[column 1]\n"
                                      "role = finger_force\n"
                                      "finger = index\n"
                                      "scale = 0.1\n"
                                      "[column 2]\n"
                                      "role = finger_force\n"
                                      "finger = middle\n"
                                      "scale = 0.1\n";

static double mixed(size_t channel, const double *force_n)
{
    const double share =
        channel == 0 ? force_n[0] + 0.08 * force_n[1] : 0.05 * force_n[0] + force_n[1];
    return 20.0 + 10.0 * share;
}

static struct sh_profile *read_profile(const struct calibrating *place)
{
    struct sh_profile *profile = calloc(1, sizeof *profile);
    struct sh_error err = {0};
    assert_non_null(profile);
    if (sh_profile_read(place->profile, profile, &err) != SH_OK) {
        fail_msg("%s", err.what);
    }
    return profile;
}

/* What stands in the profile, against the sensor's truth. */
static void check_channel(const struct calibrating *place)
{
    struct sh_profile *profile = read_profile(place);
    const struct sh_channel *cell = &profile->streams[0].stream.channel[0];
    print_message("scale %.8f +- %.8f, zero %.2f +- %.2f, noise %.4f N, drift %.4f in %.2f s\n",
                  cell->scale, cell->scale_u, cell->zero, cell->zero_u, cell->noise,
                  cell->load_drift_ratio, cell->load_drift_time_s);
    assert_near(cell->scale, 1.0 / CALIBRATING_PER_N, 3.0 * cell->scale_u, 0.0);
    assert_near(cell->zero, CALIBRATING_REST, 3.0 * cell->zero_u, 0.0);
    assert_true(cell->scale_u > 1e-4 / CALIBRATING_PER_N &&
                cell->scale_u < 2e-3 / CALIBRATING_PER_N);
    assert_near(cell->noise, 3.0 / CALIBRATING_PER_N, 0.0, 0.2);
    assert_near(cell->load_drift_ratio, 0.05, 0.003, 0.0);
    assert_near(cell->load_drift_time_s, 2.0, 0.4, 0.0);
    assert_int_equal(strlen(cell->calibrated), 10);
    free(profile);
}

/* Comments stay, and the file as it was is kept. */
static void check_texts(const struct calibrating *place)
{
    char *text = scratch_read(place->profile, NULL);
    assert_says(text, "; the kiln's cell\n");
    assert_says(text, "rate_hz = 500 ; nominal\n");
    assert_says(text, "; a guess\n");
    char before[SCRATCH_PATH_BYTES];
    scratch_path(&place->scratch, "cell.ini.1", before);
    char *old = scratch_read(before, NULL);
    assert_string_equal(old, calibrating_profile);
    free(old);
    free(text);
}

static void test_guided(void **state)
{
    struct calibrating *place = *state;
    struct program program;
    const struct calibrating_answer answers[] = {
        {"perhaps", 0.0, "yes or no", 1},
        {"yes", 0.0, "yes or no", 2},
        {"", 0.0, CALIBRATING_ZERO_WORDS, 1},
        {"5 kg", 5.0, CALIBRATING_MASS_WORDS, 1},
        {"5 stone", 5.0, CALIBRATING_MASS_WORDS, 2},
        {"10000 g", 10.0, CALIBRATING_MASS_WORDS, 3},
        {"help", 10.0, CALIBRATING_MASS_WORDS, 4},
        {"20 lb", 9.0718474, CALIBRATING_MASS_WORDS, 5},
        {"undo", 9.0, CALIBRATING_MASS_WORDS, 6},
        {"15 kg", 15.0, CALIBRATING_MASS_WORDS, 7},
        {"steady 10", 15.0, CALIBRATING_MASS_WORDS, 8},
        {"10 kg", 10.0, CALIBRATING_MASS_WORDS, 9},
        {"5 kg", 5.0, CALIBRATING_MASS_WORDS, 10},
        {"done", 5.0, CALIBRATING_MASS_WORDS, 11},
        {"", 0.0, CALIBRATING_ZERO_WORDS, 2},
        {"yes", 0.0, WRITE_WORDS, 1},
        {NULL, 0.0, NULL, 0}};
    bench_scale_open(&place->scale, 1);
    place->scale.law = calibrating_straight;
    place->scale.noise_counts = 3.0;
    calibrating_start(place, &program, NULL);
    calibrating_give_answers(place, &program, answers);
    assert_int_equal(bench_scale_wait(&place->scale, &program), 0);
    char *err = program_read_err(&program);
    char *out = program_read_out(&program);
    const char *caution = strstr(err, "padded cradle");
    const char *question = strstr(err, "Is all of this so?");
    assert_true(caution != NULL && question != NULL && caution < question);
    assert_true(question < strstr(err, "Nothing hangs"));
    assert_says(err, "safety line");
    assert_says(err, "never let go");
    assert_says(err, "'5 stone' is no mass");
    assert_says(out, "follows a straight line");
    assert_says(out, "Under a steady load it drifts by +5");
    assert_says(out, "sensor less mass (N)");
    free(out);
    free(err);
    check_channel(place);
    check_texts(place);
}

static void test_crosstalk(void **state)
{
    struct calibrating *place = *state;
    struct program program;
    static const struct {
        const char *typed;
        size_t finger;
        double mass_kg;
    } steps[] = {{"none", 0, 0.0},        {"index, 1 kg", 0, 1.0},  {"index, 2 kg", 0, 2.0},
                 {"none", 0, 0.0},        {"middle, 1 kg", 1, 1.0}, {"middle, 3 kg", 1, 3.0},
                 {"thumb, 1 kg", 0, 0.0}, {"done", 0, 0.0}};
    scratch_write(place->profile, fingers_profile, sizeof fingers_profile - 1);
    bench_scale_open(&place->scale, 2);
    place->scale.law = mixed;
    place->scale.noise_counts = 0.4;
    calibrating_start(place, &program, "--crosstalk");
    bench_scale_await(&place->scale, &program, "yes or no", 1);
    program_type(&program, "yes\n");
    for (size_t i = 0; i < sizeof steps / sizeof steps[0]; i++) {
        bench_scale_await(&place->scale, &program, "Finger and mass", i + 1);
        place->scale.force_n[0] =
            steps[i].finger == 0 ? calibrating_get_force_n(steps[i].mass_kg) : 0.0;
        place->scale.force_n[1] =
            steps[i].finger == 1 ? calibrating_get_force_n(steps[i].mass_kg) : 0.0;
        program_type(&program, steps[i].typed);
        program_type(&program, "\n");
    }
    bench_scale_await(&place->scale, &program, WRITE_WORDS, 1);
    program_type(&program, "yes\n");
    assert_int_equal(bench_scale_wait(&place->scale, &program), 0);
    struct sh_profile *profile = read_profile(place);
    const struct sh_stream *stream = &profile->streams[0].stream;
    assert_true(stream->has_crosstalk);
    const double force_n[2] = {14.0, 23.0};
    const double raw[2] = {mixed(0, force_n), mixed(1, force_n)};
    const double rest[2] = {mixed(0, (const double[2]){0.0, 0.0}),
                            mixed(1, (const double[2]){0.0, 0.0})};
    double loaded[2];
    double empty[2];
    sh_scale_frame(stream, raw, loaded);
    sh_scale_frame(stream, rest, empty);
    assert_near(loaded[0] - empty[0], 14.0, 0.1, 0.0);
    assert_near(loaded[1] - empty[1], 23.0, 0.1, 0.0);
    free(profile);
}

/* A file of readings: JSON, the curve of a thin sensor, written without asking. */
static void test_from_a_file(void **state)
{
    struct calibrating *place = *state;
    struct program program;
    char table[SCRATCH_PATH_BYTES];
    struct sh_text lines;
    sh_text_init(&lines, 0);
    sh_text_puts(&lines, "# grams, counts\n0, 10\n");
    for (int i = 1; i <= 24; i++) {
        const double force_n = calibrating_get_force_n(0.2 * i);
        const double above_n = fmax(0.0, force_n - 1.0);
        sh_text_printf(&lines, "%d g, %.2f, 0.5, 50\n", 200 * i,
                       10.0 + 900.0 * above_n / (8.0 + above_n) + (i % 2 == 0 ? 0.4 : -0.4));
    }
    scratch_path(&place->scratch, "readings.txt", table);
    scratch_write(table, lines.data, lines.n_bytes);
    sh_text_close(&lines);
    const char *words[] = {
        "calibrate", "--sensor", place->profile, "--from", table,        "--gravity", "9.81",
        "--format",  "json",     "--write",      "--date", "2026-05-01", NULL};
    assert_int_equal(program_run(&program, &place->scratch, "from", words), 0);
    char *out = program_read_out(&program);
    json_error_t error;
    json_t *root = json_loads(out, JSON_REJECT_DUPLICATES, &error);
    assert_non_null(root);
    assert_string_equal(json_string_value(json_object_get(root, "format")),
                        "stringhand-calibration");
    assert_string_equal(json_string_value(json_object_get(root, "law")),
                        "saturating curve with a dead zone");
    assert_int_equal(json_array_size(json_object_get(root, "readings")), 25);
    assert_true(json_is_null(json_object_get(root, "hysteresis_n")));
    assert_true(json_real_value(json_object_get(root, "residual_max_n")) < 0.25);
    json_decref(root);
    struct sh_profile *profile = read_profile(place);
    const struct sh_channel *thin = &profile->streams[0].stream.channel[0];
    assert_true(thin->n_curve > 50);
    assert_string_equal(thin->calibrated, "2026-05-01");
    assert_near(sh_scale_value(thin, 10.0 + 900.0 * 19.0 / 27.0), 20.0, 0.1, 0.0);
    free(profile);
    free(out);
}

/* Nothing is written without a yes. */
static void test_not_written(void **state)
{
    struct calibrating *place = *state;
    struct program program;
    char table[SCRATCH_PATH_BYTES];
    static const char lines[] = "0, 1\n1 kg, 101\n2 kg, 202\n3 kg, 300\n";
    scratch_path(&place->scratch, "readings.txt", table);
    scratch_write(table, lines, sizeof lines - 1);
    const char *words[] = {"calibrate", "--sensor", place->profile, "--from", table, NULL};
    assert_int_equal(program_run(&program, &place->scratch, "dry", words), 0);
    char *err = program_read_err(&program);
    assert_says(err, "Nothing was written.");
    char *text = scratch_read(place->profile, NULL);
    assert_string_equal(text, calibrating_profile);
    free(text);
    free(err);
}

#define PLACED(test) cmocka_unit_test_setup_teardown(test, calibrating_open, calibrating_close)

int main(void)
{
    const struct CMUnitTest tests[] = {
        PLACED(test_guided),
        PLACED(test_crosstalk),
        PLACED(test_from_a_file),
        PLACED(test_not_written),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
