/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/calibration_setup.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "app/commands.h"
#include "app/typed.h"
#include "recording/scratch.h"
#include "support/cmocka_all.h"
#include "support/near.h"

static const char profile_text[] = "[sensor]\n"
                                   "framing = packets\n"
                                   "[stream bow]\n"
                                   "rate_hz = 3200\n"
                                   "[column 1]\n"
                                   "role = bow_acceleration\n"
                                   "axis = x\n"
                                   "scale = 0.04\n"
                                   "[stream fingers]\n"
                                   "rate_hz = 200\n"
                                   "[column 1]\n"
                                   "role = none\n"
                                   "[column 2]\n"
                                   "role = finger_force\n"
                                   "finger = index\n"
                                   "scale = 0.1\n"
                                   "[column 3]\n"
                                   "role = finger_force\n"
                                   "finger = ring\n"
                                   "scale = 0.1\n";

struct place {
    struct scratch scratch;
    char profile[SCRATCH_PATH_BYTES];
};

static int open_place(void **state)
{
    struct place *place = calloc(1, sizeof *place);
    assert_non_null(place);
    scratch_open(&place->scratch);
    scratch_path(&place->scratch, "tab.ini", place->profile);
    scratch_write(place->profile, profile_text, sizeof profile_text - 1);
    *state = place;
    return 0;
}

static int close_place(void **state)
{
    struct place *place = *state;
    scratch_close(&place->scratch);
    free(place);
    return 0;
}

/* Parses and reads words (NULL-terminated) behind "calibrate". */
static enum sh_status
read_words(const char *const *words, struct sh_calibration_setup *setup, struct sh_error *err)
{
    struct typed typed;
    typed_parse(&typed, &sh_command_calibrate, words);
    return sh_calibration_setup_read(&sh_command_calibrate, &typed.line, setup, err);
}

static void test_all_is_taken(void **state)
{
    const struct place *place = *state;
    struct sh_calibration_setup setup;
    struct sh_error err = {0};
    const char *words[] = {"--sensor",   place->profile,
                           "--port",     "usb:0403:6001",
                           "--column",   "3",
                           "--from",     "a.txt",
                           "--latitude", "45",
                           "--height",   "0",
                           "--mass-u",   "0.002",
                           "--seconds",  "1.5",
                           "--date",     "2026-05-01",
                           "--write",    "--plain",
                           "--format",   "json",
                           NULL};
    assert_int_equal(read_words(words, &setup, &err), SH_OK);
    assert_int_equal(setup.job, SH_CALIBRATION_JOB_FORCE);
    assert_int_equal(setup.stream, 1); /* the first with a force */
    assert_int_equal(setup.channel, 1);
    assert_string_equal(setup.address, "usb:0403:6001");
    assert_string_equal(setup.from, "a.txt");
    assert_near(setup.place.gravity_m_s2.value, 9.806199203, 1e-8, 0.0);
    assert_true(setup.is_gravity_given);
    assert_near(setup.place.mass_u_ratio, 0.002, 0.0, 0.0);
    assert_near(setup.seconds, 1.5, 0.0, 0.0);
    assert_string_equal(setup.date, "2026-05-01");
    assert_true(setup.is_told_to_write && setup.is_plain && setup.is_json);
    sh_calibration_setup_close(&setup);
}

static void test_little_is_needed(void **state)
{
    const struct place *place = *state;
    struct sh_calibration_setup setup;
    struct sh_error err = {0};
    const char *words[] = {"--sensor", place->profile, "--from", "a.txt", "--crosstalk", NULL};
    assert_int_equal(read_words(words, &setup, &err), SH_OK);
    assert_int_equal(setup.job, SH_CALIBRATION_JOB_CROSSTALK);
    assert_near(setup.place.gravity_m_s2.value, 9.80665, 0.0, 0.0);
    assert_near(setup.place.gravity_m_s2.u, 0.015, 0.0, 0.0);
    assert_false(setup.is_gravity_given);
    assert_int_equal(strlen(setup.date), 10);
    sh_calibration_setup_close(&setup);
    const char *bow[] = {"--bow", "table.txt", "--draw-length", "28in", "--draw-u",
                         "2 mm",  "--out",     "b.ini",         NULL};
    assert_int_equal(read_words(bow, &setup, &err), SH_OK);
    assert_int_equal(setup.job, SH_CALIBRATION_JOB_BOW);
    assert_near(setup.draw_length_m, 0.7112, 1e-12, 0.0);
    assert_near(setup.draw_u_m, 0.002, 1e-12, 0.0);
    assert_null(setup.profile);
    sh_calibration_setup_close(&setup);
}

static void check_refused(const struct place *place,
                          const char *const *more,
                          enum sh_status expected,
                          const char *says)
{
    struct sh_calibration_setup setup;
    struct sh_error err = {0};
    const char *words[9] = {"--sensor", place->profile};
    for (size_t i = 0; more[i] != NULL; i++) {
        words[2 + i] = more[i];
    }
    assert_int_equal(read_words(words, &setup, &err), expected);
    if (strstr(err.what, says) == NULL) {
        fail_msg("wanted '%s', said '%s'", says, err.what);
    }
    sh_calibration_setup_close(&setup);
}

static void test_refusals(void **state)
{
    const struct place *place = *state;
    static const struct {
        const char *words[7];
        enum sh_status status;
        const char *says;
    } cases[] = {
        {{"--port", "a"}, SH_ERR_ARGUMENT, "the stream has 2 forces"},
        {{"--port", "a", "--column", "1"}, SH_ERR_FORMAT, "no force stands there"},
        {{"--port", "a", "--column", "4"}, SH_ERR_FORMAT, "no force stands there"},
        {{"--port", "a", "--stream", "bow"}, SH_ERR_FORMAT, "no force stands there"},
        {{"--port", "a", "--stream", "smoke"}, SH_ERR_FORMAT, "no stream 'smoke'"},
        {{"--port", "a", "--column", "2", "--crosstalk"}, SH_ERR_FORMAT, "one force only"},
        {{"--column", "2"}, SH_ERR_ARGUMENT, "no port for this sensor"},
        {{"--column", "2", "--port", "-"}, SH_ERR_ARGUMENT, "where you answer"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        check_refused(place, cases[i].words, cases[i].status, cases[i].says);
    }
    struct sh_calibration_setup setup;
    struct sh_error err = {0};
    const char *words[] = {"--sensor", "no-such-file.ini", NULL};
    assert_int_equal(read_words(words, &setup, &err), SH_ERR_NOT_FOUND);
    sh_calibration_setup_close(&setup);
}

static void test_lengths(void **state)
{
    double length_m = -1.0;
    assert_true(sh_calibration_setup_parse_length("28in", &length_m));
    assert_near(length_m, 0.7112, 1e-15, 0.0);
    assert_true(sh_calibration_setup_parse_length("711 mm", &length_m));
    assert_near(length_m, 0.711, 1e-15, 0.0);
    assert_true(sh_calibration_setup_parse_length("2 m", &length_m));
    length_m = -1.0;
    static const char *const bad[] = {"", "28", "-1 in", "2.001 m", "1 ft", "nan in", "in"};
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        assert_false(sh_calibration_setup_parse_length(bad[i], &length_m));
    }
    assert_near(length_m, -1.0, 0.0, 0.0);
}

/* The help is made from the table: all of it must be in the command. */
static void test_the_command_has_every_option(void **state)
{
    assert_int_equal(sh_command_calibrate.n_options, sh_calibration_setup_n_options);
    assert_ptr_equal(sh_command_calibrate.options, sh_calibration_setup_options);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_all_is_taken),
        cmocka_unit_test(test_little_is_needed),
        cmocka_unit_test(test_refusals),
        cmocka_unit_test(test_lengths),
        cmocka_unit_test(test_the_command_has_every_option),
    };
    return cmocka_run_group_tests(tests, open_place, close_place);
}
