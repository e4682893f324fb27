/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the real `calibrate` does not take: answers, sensors and files that show nothing. */
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "loop/calibrating.h"
#include "support/cmocka_all.h"

static double dead(size_t channel, const double *force_n)
{
    (void)channel;
    (void)force_n;
    return 500.0;
}

/* Ends with status 1, one line at the end that says what, and the profile as it was. */
static void
check_failed(struct calibrating *place, struct program *program, int status, const char *says)
{
    char *err = program_read_err(program);
    char *text = scratch_read(place->profile, NULL);
    const char *line = strstr(err, "stringhand: ");
    assert_int_equal(status, 1);
    assert_string_equal(text, calibrating_profile);
    if (line == NULL || strstr(line, says) == NULL || strchr(line, '\n') == NULL ||
        strchr(line, '\n')[1] != '\0') {
        fail_msg("wanted one line with '%s', said: %s", says, err);
    }
    free(text);
    free(err);
}

static void test_guided_refusals(void **state)
{
    struct calibrating *place = *state;
    struct program program;
    const struct calibrating_answer not_safe[] = {{"no", 0.0, "yes or no", 1},
                                                  {NULL, 0.0, NULL, 0}};
    const struct calibrating_answer quit[] = {{"yes", 0.0, "yes or no", 1},
                                              {"", 0.0, CALIBRATING_ZERO_WORDS, 1},
                                              {"quit", 0.0, CALIBRATING_MASS_WORDS, 1},
                                              {NULL, 0.0, NULL, 0}};
    const struct calibrating_answer few[] = {{"yes", 0.0, "yes or no", 1},
                                             {"", 0.0, CALIBRATING_ZERO_WORDS, 1},
                                             {"5 kg", 5.0, CALIBRATING_MASS_WORDS, 1},
                                             {"10 kg", 10.0, CALIBRATING_MASS_WORDS, 2},
                                             {"done", 10.0, CALIBRATING_MASS_WORDS, 3},
                                             {"", 0.0, CALIBRATING_ZERO_WORDS, 2},
                                             {NULL, 0.0, NULL, 0}};
    const struct {
        const struct calibrating_answer *answers;
        const char *says;
    } cases[] = {{not_safe, "no mass was hung"}, {quit, "given up"}, {few, "are too few"}};
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        bench_scale_open(&place->scale, 1);
        place->scale.law = calibrating_straight;
        calibrating_start(place, &program, NULL);
        calibrating_give_answers(place, &program, cases[i].answers);
        check_failed(place, &program, bench_scale_wait(&place->scale, &program), cases[i].says);
        bench_scale_close(&place->scale);
    }
}

static void test_answers_or_sensor_end(void **state)
{
    struct calibrating *place = *state;
    struct program program;
    const struct calibrating_answer begin[] = {{"yes", 0.0, "yes or no", 1},
                                               {NULL, 0.0, NULL, 0}};
    const struct calibrating_answer zero[] = {{"yes", 0.0, "yes or no", 1},
                                              {"", 0.0, CALIBRATING_ZERO_WORDS, 1},
                                              {NULL, 0.0, NULL, 0}};
    bench_scale_open(&place->scale, 1);
    place->scale.law = calibrating_straight;
    calibrating_start(place, &program, NULL);
    calibrating_give_answers(place, &program, begin);
    bench_scale_await(&place->scale, &program, CALIBRATING_ZERO_WORDS, 1);
    program_close_keys(&program);
    check_failed(place, &program, bench_scale_wait(&place->scale, &program),
                 "the answers ended too soon");
    calibrating_start(place, &program, NULL);
    calibrating_give_answers(place, &program, zero);
    bench_scale_await(&place->scale, &program, CALIBRATING_MASS_WORDS, 1);
    bench_scale_close(&place->scale);
    check_failed(place, &program, program_wait(&program), "the sensor has gone");
    bench_scale_open(&place->scale, 1);
    place->scale.law = calibrating_straight;
    place->scale.is_silent = true;
    calibrating_start(place, &program, NULL);
    calibrating_give_answers(place, &program, zero);
    check_failed(place, &program, bench_scale_wait(&place->scale, &program),
                 "no good frame came for 5 s");
}

/* A reading that goes on rising is said to, after five times the averaging time. */
static void test_unsettled_reading(void **state)
{
    struct calibrating *place = *state;
    struct program program;
    struct timespec now = {0};
    const struct calibrating_answer quit[] = {{"quit", 5.0, CALIBRATING_MASS_WORDS, 2},
                                              {NULL, 0.0, NULL, 0}};
    const struct calibrating_answer begin[] = {{"yes", 0.0, "yes or no", 1},
                                               {"", 0.0, CALIBRATING_ZERO_WORDS, 1},
                                               {NULL, 0.0, NULL, 0}};
    bench_scale_open(&place->scale, 1);
    place->scale.law = calibrating_straight;
    place->scale.noise_counts = 1.0;
    calibrating_start(place, &program, NULL);
    calibrating_give_answers(place, &program, begin);
    bench_scale_await(&place->scale, &program, CALIBRATING_MASS_WORDS, 1);
    (void)clock_gettime(CLOCK_MONOTONIC, &now);
    place->scale.force_n[0] = calibrating_get_force_n(5.0);
    place->scale.drift_ratio = 1.0;
    place->scale.drift_time_s = 20.0;
    place->scale.drift_start_s = (double)now.tv_sec + (double)now.tv_nsec / 1e9;
    program_type(&program, "5 kg\n");
    bench_scale_await(&place->scale, &program, "STILL MOVING", 1);
    calibrating_give_answers(place, &program, quit);
    check_failed(place, &program, bench_scale_wait(&place->scale, &program), "given up");
}

static void test_dead_sensor(void **state)
{
    struct calibrating *place = *state;
    struct program program;
    const struct calibrating_answer answers[] = {{"yes", 0.0, "yes or no", 1},
                                                 {"", 0.0, CALIBRATING_ZERO_WORDS, 1},
                                                 {"5 kg", 5.0, CALIBRATING_MASS_WORDS, 1},
                                                 {"10 kg", 10.0, CALIBRATING_MASS_WORDS, 2},
                                                 {"15 kg", 15.0, CALIBRATING_MASS_WORDS, 3},
                                                 {"0", 0.0, CALIBRATING_MASS_WORDS, 4},
                                                 {"done", 0.0, CALIBRATING_MASS_WORDS, 5},
                                                 {NULL, 0.0, NULL, 0}};
    bench_scale_open(&place->scale, 1);
    place->scale.law = dead;
    place->scale.noise_counts = 0.0; /* with noise one in a hundred seems alive */
    calibrating_start(place, &program, NULL);
    calibrating_give_answers(place, &program, answers);
    check_failed(place, &program, bench_scale_wait(&place->scale, &program),
                 "the counts do not follow the masses");
}

static void test_bad_files(void **state)
{
    struct calibrating *place = *state;
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

#define PLACED(test) cmocka_unit_test_setup_teardown(test, calibrating_open, calibrating_close)

int main(void)
{
    const struct CMUnitTest tests[] = {
        PLACED(test_guided_refusals), PLACED(test_answers_or_sensor_end),
        PLACED(test_dead_sensor),     PLACED(test_unsettled_reading),
        PLACED(test_bad_files),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
