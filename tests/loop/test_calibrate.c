/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The real `calibrate`, typed into, with a sensor of known law behind a pseudo-terminal. */
#include <jansson.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "base/text.h"
#include "loop/bench_scale.h"
#include "loop/program.h"
#include "metrology/scale.h"
#include "sensor/profile.h"
#include "support/cmocka_all.h"
#include "support/near.h"

#define GRAVITY     9.81
#define CARRIED     (1.0 - 1.2 / 8000.0)
#define PER_N       80.0
#define REST        812.0
#define MASS_WORDS  "Mass hanging now"
#define ZERO_WORDS  "press Enter. "
#define WRITE_WORDS "Write this into"

static const char cell_profile[] = "; the kiln's cell\n"
                                   "[sensor]\n"
                                   "framing = text\n"
                                   "[stream string]\n"
                                   "rate_hz = 500 ; nominal\n"
                                   "[column 1]\n"
                                   "role = string_force\n"
                                   "scale = 0.01 ; a guess\n"
                                   "range = 0 32767\n";

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

struct place {
    struct scratch scratch;
    char profile[SCRATCH_PATH_BYTES];
    struct bench_scale scale;
};

static int open_place(void **state)
{
    struct place *place = calloc(1, sizeof *place);
    assert_non_null(place);
    scratch_open(&place->scratch);
    scratch_path(&place->scratch, "cell.ini", place->profile);
    scratch_write(place->profile, cell_profile, sizeof cell_profile - 1);
    place->scale.terminal = -1;
    *state = place;
    return 0;
}

static int close_place(void **state)
{
    struct place *place = *state;
    bench_scale_close(&place->scale);
    scratch_close(&place->scratch);
    free(place);
    return 0;
}

static double straight(size_t channel, const double *force_n)
{
    (void)channel;
    return REST + PER_N * force_n[0];
}

static double mixed(size_t channel, const double *force_n)
{
    const double share =
        channel == 0 ? force_n[0] + 0.08 * force_n[1] : 0.05 * force_n[0] + force_n[1];
    return 20.0 + 10.0 * share;
}

static double dead(size_t channel, const double *force_n)
{
    (void)channel;
    (void)force_n;
    return 500.0;
}

static double get_force(double mass_kg)
{
    return mass_kg * GRAVITY * CARRIED;
}

static void start(struct place *place, struct program *program, const char *more)
{
    const char *words[] = {"calibrate", "--sensor", place->profile, "--port", place->scale.path,
                           "--gravity", "9.81",     "--seconds",    "0.5",    "--mass-u",
                           "0.0001",    "--plain",  more,           NULL};
    const struct program_config config = {
        .scratch = &place->scratch, .name = "calibrate", .words = words, .has_keys = true};
    program_start(program, &config);
    program_await_file(program->err);
}

/* What is typed, what hangs by then, and the question it answers for the n-th time. */
struct answer {
    const char *typed;
    double mass_kg;
    const char *question;
    size_t n;
};

static void
give_answers(struct place *place, const struct program *program, const struct answer *answers)
{
    for (size_t i = 0; answers[i].typed != NULL; i++) {
        bench_scale_await(&place->scale, program, answers[i].question, answers[i].n);
        place->scale.force_n[0] = get_force(answers[i].mass_kg);
        if (strncmp(answers[i].typed, "steady", 6) == 0) {
            place->scale.drift_ratio = 0.05;
            place->scale.drift_time_s = 2.0;
            place->scale.rest_counts = REST;
            struct timespec now = {0};
            (void)clock_gettime(CLOCK_MONOTONIC, &now);
            place->scale.drift_start_s = (double)now.tv_sec + (double)now.tv_nsec / 1e9;
        } else {
            place->scale.drift_start_s = HUGE_VAL;
        }
        program_type(program, answers[i].typed);
        program_type(program, "\n");
    }
}

static struct sh_profile *read_profile(const struct place *place)
{
    struct sh_profile *profile = calloc(1, sizeof *profile);
    struct sh_error err = {0};
    assert_non_null(profile);
    if (sh_profile_read(place->profile, profile, &err) != SH_OK) {
        fail_msg("%s", err.what);
    }
    return profile;
}

static void must_say(char *text, const char *words)
{
    if (strstr(text, words) == NULL) {
        fail_msg("'%s' is not in: %s", words, text);
    }
}

/* What stands in the profile, against the sensor's truth. */
static void check_channel(const struct place *place)
{
    struct sh_profile *profile = read_profile(place);
    const struct sh_channel *cell = &profile->streams[0].stream.channel[0];
    print_message("scale %.8f +- %.8f, zero %.2f +- %.2f, noise %.4f N, drift %.4f in %.2f s\n",
                  cell->scale, cell->scale_u, cell->zero, cell->zero_u, cell->noise,
                  cell->load_drift_ratio, cell->load_drift_time_s);
    assert_near(cell->scale, 1.0 / PER_N, 3.0 * cell->scale_u, 0.0);
    assert_near(cell->zero, REST, 3.0 * cell->zero_u, 0.0);
    assert_true(cell->scale_u > 1e-4 / PER_N && cell->scale_u < 2e-3 / PER_N);
    assert_near(cell->noise, 3.0 / PER_N, 0.0, 0.2);
    assert_near(cell->load_drift_ratio, 0.05, 0.003, 0.0);
    assert_near(cell->load_drift_time_s, 2.0, 0.4, 0.0);
    assert_int_equal(strlen(cell->calibrated), 10);
    free(profile);
}

/* Comments stay, and the file as it was is kept. */
static void check_texts(const struct place *place)
{
    char *text = scratch_read(place->profile, NULL);
    must_say(text, "; the kiln's cell\n");
    must_say(text, "rate_hz = 500 ; nominal\n");
    must_say(text, "; a guess\n");
    char before[SCRATCH_PATH_BYTES];
    scratch_path(&place->scratch, "cell.ini.1", before);
    char *old = scratch_read(before, NULL);
    assert_string_equal(old, cell_profile);
    free(old);
    free(text);
}

static void test_guided(void **state)
{
    struct place *place = *state;
    struct program program;
    const struct answer answers[] = {{"perhaps", 0.0, "yes or no", 1},
                                     {"yes", 0.0, "yes or no", 2},
                                     {"", 0.0, ZERO_WORDS, 1},
                                     {"5 kg", 5.0, MASS_WORDS, 1},
                                     {"5 stone", 5.0, MASS_WORDS, 2},
                                     {"10000 g", 10.0, MASS_WORDS, 3},
                                     {"help", 10.0, MASS_WORDS, 4},
                                     {"20 lb", 9.0718474, MASS_WORDS, 5},
                                     {"undo", 9.0, MASS_WORDS, 6},
                                     {"15 kg", 15.0, MASS_WORDS, 7},
                                     {"steady 10", 15.0, MASS_WORDS, 8},
                                     {"10 kg", 10.0, MASS_WORDS, 9},
                                     {"5 kg", 5.0, MASS_WORDS, 10},
                                     {"done", 5.0, MASS_WORDS, 11},
                                     {"", 0.0, ZERO_WORDS, 2},
                                     {"yes", 0.0, WRITE_WORDS, 1},
                                     {NULL, 0.0, NULL, 0}};
    bench_scale_open(&place->scale, 1);
    place->scale.law = straight;
    place->scale.noise_counts = 3.0;
    start(place, &program, NULL);
    give_answers(place, &program, answers);
    assert_int_equal(bench_scale_wait(&place->scale, &program), 0);
    char *err = program_read_err(&program);
    char *out = program_read_out(&program);
    const char *caution = strstr(err, "padded cradle");
    const char *question = strstr(err, "Is all of this so?");
    assert_true(caution != NULL && question != NULL && caution < question);
    assert_true(question < strstr(err, "Nothing hangs"));
    must_say(err, "safety line");
    must_say(err, "never let go");
    must_say(err, "'5 stone' is no mass");
    must_say(out, "follows a straight line");
    must_say(out, "Under a steady load it drifts by +5");
    must_say(out, "sensor less mass (N)");
    free(out);
    free(err);
    check_channel(place);
    check_texts(place);
}

/* Ends with status 1, one line at the end that says what, and the profile as it was. */
static void
check_failed(struct place *place, struct program *program, int status, const char *says)
{
    char *err = program_read_err(program);
    char *text = scratch_read(place->profile, NULL);
    const char *line = strstr(err, "stringhand: ");
    assert_int_equal(status, 1);
    assert_string_equal(text, cell_profile);
    if (line == NULL || strstr(line, says) == NULL || strchr(line, '\n') == NULL ||
        strchr(line, '\n')[1] != '\0') {
        fail_msg("wanted one line with '%s', said: %s", says, err);
    }
    free(text);
    free(err);
}

static void test_guided_refusals(void **state)
{
    struct place *place = *state;
    struct program program;
    const struct answer not_safe[] = {{"no", 0.0, "yes or no", 1}, {NULL, 0.0, NULL, 0}};
    const struct answer quit[] = {{"yes", 0.0, "yes or no", 1},
                                  {"", 0.0, ZERO_WORDS, 1},
                                  {"quit", 0.0, MASS_WORDS, 1},
                                  {NULL, 0.0, NULL, 0}};
    const struct answer few[] = {{"yes", 0.0, "yes or no", 1},  {"", 0.0, ZERO_WORDS, 1},
                                 {"5 kg", 5.0, MASS_WORDS, 1},  {"10 kg", 10.0, MASS_WORDS, 2},
                                 {"done", 10.0, MASS_WORDS, 3}, {"", 0.0, ZERO_WORDS, 2},
                                 {NULL, 0.0, NULL, 0}};
    const struct {
        const struct answer *answers;
        const char *says;
    } cases[] = {{not_safe, "no mass was hung"}, {quit, "given up"}, {few, "are too few"}};
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        bench_scale_open(&place->scale, 1);
        place->scale.law = straight;
        start(place, &program, NULL);
        give_answers(place, &program, cases[i].answers);
        check_failed(place, &program, bench_scale_wait(&place->scale, &program), cases[i].says);
        bench_scale_close(&place->scale);
    }
}

static void test_answers_or_sensor_end(void **state)
{
    struct place *place = *state;
    struct program program;
    const struct answer begin[] = {{"yes", 0.0, "yes or no", 1}, {NULL, 0.0, NULL, 0}};
    const struct answer zero[] = {
        {"yes", 0.0, "yes or no", 1}, {"", 0.0, ZERO_WORDS, 1}, {NULL, 0.0, NULL, 0}};
    bench_scale_open(&place->scale, 1);
    place->scale.law = straight;
    start(place, &program, NULL);
    give_answers(place, &program, begin);
    bench_scale_await(&place->scale, &program, ZERO_WORDS, 1);
    program_close_keys(&program);
    check_failed(place, &program, bench_scale_wait(&place->scale, &program),
                 "the answers ended too soon");
    start(place, &program, NULL);
    give_answers(place, &program, zero);
    bench_scale_await(&place->scale, &program, MASS_WORDS, 1);
    bench_scale_close(&place->scale);
    check_failed(place, &program, program_wait(&program), "the sensor has gone");
    bench_scale_open(&place->scale, 1);
    place->scale.law = straight;
    place->scale.is_silent = true;
    start(place, &program, NULL);
    give_answers(place, &program, zero);
    check_failed(place, &program, bench_scale_wait(&place->scale, &program),
                 "no good frame came for 5 s");
}

/* A reading that goes on rising is said to, after five times the averaging time. */
static void test_unsettled_reading(void **state)
{
    struct place *place = *state;
    struct program program;
    struct timespec now = {0};
    const struct answer quit[] = {{"quit", 5.0, MASS_WORDS, 2}, {NULL, 0.0, NULL, 0}};
    const struct answer begin[] = {
        {"yes", 0.0, "yes or no", 1}, {"", 0.0, ZERO_WORDS, 1}, {NULL, 0.0, NULL, 0}};
    bench_scale_open(&place->scale, 1);
    place->scale.law = straight;
    place->scale.noise_counts = 1.0;
    start(place, &program, NULL);
    give_answers(place, &program, begin);
    bench_scale_await(&place->scale, &program, MASS_WORDS, 1);
    (void)clock_gettime(CLOCK_MONOTONIC, &now);
    place->scale.force_n[0] = get_force(5.0);
    place->scale.drift_ratio = 1.0;
    place->scale.drift_time_s = 20.0;
    place->scale.drift_start_s = (double)now.tv_sec + (double)now.tv_nsec / 1e9;
    program_type(&program, "5 kg\n");
    bench_scale_await(&place->scale, &program, "STILL MOVING", 1);
    give_answers(place, &program, quit);
    check_failed(place, &program, bench_scale_wait(&place->scale, &program), "given up");
}

static void test_dead_sensor(void **state)
{
    struct place *place = *state;
    struct program program;
    const struct answer answers[] = {
        {"yes", 0.0, "yes or no", 1},   {"", 0.0, ZERO_WORDS, 1},
        {"5 kg", 5.0, MASS_WORDS, 1},   {"10 kg", 10.0, MASS_WORDS, 2},
        {"15 kg", 15.0, MASS_WORDS, 3}, {"0", 0.0, MASS_WORDS, 4},
        {"done", 0.0, MASS_WORDS, 5},   {NULL, 0.0, NULL, 0}};
    bench_scale_open(&place->scale, 1);
    place->scale.law = dead;
    place->scale.noise_counts = 0.0; /* with noise one in a hundred seems alive */
    start(place, &program, NULL);
    give_answers(place, &program, answers);
    check_failed(place, &program, bench_scale_wait(&place->scale, &program),
                 "the counts do not follow the masses");
}

static void test_crosstalk(void **state)
{
    struct place *place = *state;
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
    start(place, &program, "--crosstalk");
    bench_scale_await(&place->scale, &program, "yes or no", 1);
    program_type(&program, "yes\n");
    for (size_t i = 0; i < sizeof steps / sizeof steps[0]; i++) {
        bench_scale_await(&place->scale, &program, "Finger and mass", i + 1);
        place->scale.force_n[0] = steps[i].finger == 0 ? get_force(steps[i].mass_kg) : 0.0;
        place->scale.force_n[1] = steps[i].finger == 1 ? get_force(steps[i].mass_kg) : 0.0;
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
    struct place *place = *state;
    struct program program;
    char table[SCRATCH_PATH_BYTES];
    struct sh_text lines;
    sh_text_init(&lines, 0);
    sh_text_puts(&lines, "# grams, counts\n0, 10\n");
    for (int i = 1; i <= 24; i++) {
        const double force_n = get_force(0.2 * i);
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

static void test_bad_files(void **state)
{
    struct place *place = *state;
    struct program program;
    static const struct {
        const char *text;
        const char *says;
    } cases[] = {
        {"", "there is no reading in it"},
        {"5 kg\n", "readings.txt:1: this line cannot be read"},
        {"0, 1\n5 stone, 2\n", "readings.txt:2: this line cannot be read"},
        {"0, 1\n5 kg, 2, -1\n", "readings.txt:2: this line cannot be read"},
        {"0, 1\n5 kg, 2, 1, 0\n", "readings.txt:2: this line cannot be read"},
        {"0, 1\n5 kg, 2, 1, 2, 3, 4\n", "readings.txt:2: this line cannot be read"},
        {"0, 1\n5 kg, nan\n", "readings.txt:2: this line cannot be read"},
        {"0, 1\nsteady, 5\n", "readings.txt:2: this line cannot be read"},
        {"0, 1\n5 kg, 2\n6 kg, 3\n", "2 different masses besides none are too few"},
        {"0, 1\n8 kg, 2\n9 kg, 3\n10 kg, 4\n", "too much alike"},
        {"0, 1\n1 kg, 2\n2 kg, 1\n3 kg, 2\n4 kg, 1\n", "do not follow the masses"},
        {"0, 1\n1 kg, 2\n2 kg, 3\n3 kg, 4\nsteady, 1, 2\n", "its drift cannot be worked out"},
    };
    char table[SCRATCH_PATH_BYTES];
    scratch_path(&place->scratch, "readings.txt", table);
    const char *words[] = {"calibrate", "--sensor", place->profile, "--from", table,
                           "--write",   NULL};
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        scratch_write(table, cases[i].text, strlen(cases[i].text));
        const int status = program_run(&program, &place->scratch, "bad", words);
        check_failed(place, &program, status, cases[i].says);
    }
    words[4] = "no-such-file.txt";
    check_failed(place, &program, program_run(&program, &place->scratch, "bad", words),
                 "no-such-file.txt");
}

/* Nothing is written without a yes. */
static void test_not_written(void **state)
{
    struct place *place = *state;
    struct program program;
    char table[SCRATCH_PATH_BYTES];
    static const char lines[] = "0, 1\n1 kg, 101\n2 kg, 202\n3 kg, 300\n";
    scratch_path(&place->scratch, "readings.txt", table);
    scratch_write(table, lines, sizeof lines - 1);
    const char *words[] = {"calibrate", "--sensor", place->profile, "--from", table, NULL};
    assert_int_equal(program_run(&program, &place->scratch, "dry", words), 0);
    char *err = program_read_err(&program);
    must_say(err, "Nothing was written.");
    char *text = scratch_read(place->profile, NULL);
    assert_string_equal(text, cell_profile);
    free(text);
    free(err);
}

#define PLACED(test) cmocka_unit_test_setup_teardown(test, open_place, close_place)

int main(void)
{
    const struct CMUnitTest tests[] = {
        PLACED(test_guided),
        PLACED(test_guided_refusals),
        PLACED(test_answers_or_sensor_end),
        PLACED(test_dead_sensor),
        PLACED(test_unsettled_reading),
        PLACED(test_crosstalk),
        PLACED(test_from_a_file),
        PLACED(test_bad_files),
        PLACED(test_not_written),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
