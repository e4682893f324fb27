/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/capture_setup.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "app/commands.h"
#include "app/two_profiles.h"
#include "app/typed.h"
#include "base/units.h"
#include "support/cmocka_all.h"
#include "support/near.h"

static int open_profiles(void **state)
{
    static struct two_profiles profiles;
    two_profiles_open(&profiles);
    assert_int_equal(setenv("XDG_DATA_HOME", "/data", 1), 0);
    *state = &profiles;
    return 0;
}

static int close_profiles(void **state)
{
    two_profiles_close(*state);
    return 0;
}

/* Parses and reads words (NULL-terminated) behind "capture". */
static enum sh_status
read_words(const char *const *words, struct sh_capture_setup *setup, struct sh_error *err)
{
    struct typed typed;
    typed_parse(&typed, &sh_command_capture, words);
    return sh_capture_setup_read(&sh_command_capture, &typed.line, false, setup, err);
}

/* One option beside a good profile and port. */
static enum sh_status read_option(const struct two_profiles *files,
                                  const char *option,
                                  const char *value,
                                  struct sh_capture_setup *setup,
                                  struct sh_error *err)
{
    const char *words[] = {"--sensor", files->string, "--port", "-", option, value, NULL};
    return read_words(words, setup, err);
}

static void test_all_options(void **state)
{
    const struct two_profiles *files = *state;
    const char *words[] = {"--port",     "usb:0403:6001",
                           "--sensor",   files->string,
                           "--athlete",  "wren",
                           "--session",  "tuesday evening",
                           "--bow",      "kiln",
                           "--clicker",  "yes",
                           "--distance", "70",
                           "--tag",      "tab=thick",
                           "--tag",      "wind==",
                           "--out",      "here",
                           "--home",     "there",
                           "--seconds",  "12.5",
                           "--flac",     "--replay",
                           NULL};
    struct sh_capture_setup setup;
    struct sh_error err = {0};
    assert_int_equal(read_words(words, &setup, &err), SH_OK);
    assert_int_equal(setup.n_sensors, 1);
    assert_string_equal(setup.address[0], "usb:0403:6001");
    assert_string_equal(setup.session->athlete, "wren");
    assert_string_equal(setup.session->session, "tuesday evening");
    assert_string_equal(setup.session->bow.name, "kiln");
    assert_int_equal(setup.session->bow.clicker, SH_ANSWER_YES);
    assert_true(setup.session->distance_m.is_given);
    assert_near(setup.session->distance_m.value, 70.0, 0, 0);
    assert_int_equal(setup.session->n_tags, 2);
    assert_string_equal(setup.session->tags[0].key, "tab");
    assert_string_equal(setup.session->tags[0].value, "thick");
    assert_string_equal(setup.session->tags[1].value, "=");
    assert_string_equal(setup.out, "here");
    assert_string_equal(setup.home, "there");
    assert_near(setup.seconds, 12.5, 0, 0);
    assert_true(setup.to_flac);
    assert_true(setup.is_replay);
    sh_capture_setup_close(&setup);
    assert_null(setup.session);
}

static void test_little_is_needed(void **state)
{
    const struct two_profiles *files = *state;
    const char *words[] = {"--sensor", files->string, NULL};
    struct sh_capture_setup setup;
    struct sh_error err = {0};
    assert_int_equal(read_words(words, &setup, &err), SH_OK);
    assert_string_equal(setup.address[0], "/dev/kiln");
    assert_string_equal(setup.session->athlete, "");
    assert_int_equal(setup.session->bow.clicker, SH_ANSWER_UNKNOWN);
    assert_false(sh_quantity_is_known(&setup.session->bow.draw_weight_n));
    assert_false(setup.session->distance_m.is_given);
    assert_null(setup.out);
    assert_string_equal(setup.home, "/data/stringhand");
    assert_near(setup.seconds, 0.0, 0, 0);
    assert_false(setup.to_flac);
    assert_false(setup.is_replay);
    sh_capture_setup_close(&setup);
}

static void test_sensors_side_by_side(void **state)
{
    const struct two_profiles *files = *state;
    const char *words[] = {"--sensor", files->string, "--sensor", files->bow, "--port",
                           "a",        "--port",      "b",        NULL};
    struct sh_capture_setup setup;
    struct sh_error err = {0};
    assert_int_equal(read_words(words, &setup, &err), SH_OK);
    assert_int_equal(setup.n_sensors, 2);
    assert_string_equal(setup.address[0], "a");
    assert_string_equal(setup.address[1], "b");
    assert_int_equal(setup.session->n_streams, 2);
    assert_string_equal(setup.session->streams[0].stream.name, "string");
    assert_string_equal(setup.session->streams[1].stream.name, "bow");
    sh_capture_setup_close(&setup);
}

static void test_forces_of_the_bow(void **state)
{
    const struct two_profiles *files = *state;
    static const struct {
        const char *option;
        const char *text;
        double value;
    } cases[] = {{"--draw-weight", "178", 178.0},
                 {"--draw-weight", "178 N", 178.0},
                 {"--draw-weight", "40lb", 40.0 * SH_UNITS_LBF_N},
                 {"--draw-weight", "40 lbf", 40.0 * SH_UNITS_LBF_N},
                 {"--draw-weight", "400", 400.0},
                 {"--stiffness", "410", 410.0},
                 {"--stiffness", "410N/m", 410.0},
                 {"--stiffness", "2.4lb/in", 2.4 * 175.12683524647636},
                 {"--stiffness", "2000", 2000.0}};
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        struct sh_capture_setup setup;
        struct sh_error err = {0};
        assert_int_equal(read_option(files, cases[i].option, cases[i].text, &setup, &err),
                         SH_OK);
        bool is_weight = strcmp(cases[i].option, "--draw-weight") == 0;
        const struct sh_bow *bow = &setup.session->bow;
        const struct sh_quantity *set =
            is_weight ? &bow->draw_weight_n : &bow->stiffness_n_per_m;
        const struct sh_quantity *other =
            is_weight ? &bow->stiffness_n_per_m : &bow->draw_weight_n;
        assert_near(set->value, cases[i].value, 0, 1e-14);
        assert_false(sh_quantity_is_known(other));
        sh_capture_setup_close(&setup);
    }
}

/* It is refused with SH_ERR_ARGUMENT, told where, what and what to do. */
static void expect_refused(const struct two_profiles *files,
                           const char *option,
                           const char *value,
                           const char *todo)
{
    struct sh_capture_setup setup;
    struct sh_error err = {0};
    enum sh_status status = read_option(files, option, value, &setup, &err);
    if (status != SH_ERR_ARGUMENT || strcmp(err.todo, todo) != 0) {
        fail_msg("%s '%s': %s, todo '%s'", option, value, sh_status_name(status), err.todo);
    }
    assert_true(strlen(err.what) > 0);
    assert_true(strncmp(err.where, "capture", 7) == 0);
    sh_capture_setup_close(&setup);
}

static void test_refusals(void **state)
{
    const struct two_profiles *files = *state;
    static char long_name[SH_SESSION_NAME_BYTES + 1];
    memset(long_name, 'w', SH_SESSION_NAME_BYTES);
    static char long_tag[SH_SESSION_NAME_BYTES + 4] = "t=";
    memset(long_tag + 2, 'w', SH_SESSION_NAME_BYTES);
    const struct {
        const char *option;
        const char *value;
        const char *todo;
    } cases[] = {
        {"--athlete", long_name, "take up to 127 bytes"},
        {"--athlete", "\xff", "write it in UTF-8"},
        {"--session", long_name, "take up to 127 bytes"},
        {"--session", "a\xc3", "write it in UTF-8"},
        {"--bow", long_name, "take up to 127 bytes"},
        {"--bow", "\x80", "write it in UTF-8"},
        {"--draw-weight", "", "take N, or lb"},
        {"--draw-weight", "0", "take N, or lb"},
        {"--draw-weight", "-40lb", "take N, or lb"},
        {"--draw-weight", "400.5", "take N, or lb"},
        {"--draw-weight", "40kg", "take N, or lb"},
        {"--draw-weight", "nan", "take N, or lb"},
        {"--draw-weight", "inf", "take N, or lb"},
        {"--stiffness", "2001", "take N/m, or lb/in"},
        {"--stiffness", "410N", "take N/m, or lb/in"},
        {"--stiffness", "stiff", "take N/m, or lb/in"},
        {"--clicker", "maybe", "say yes or no"},
        {"--clicker", "", "say yes or no"},
        {"--distance", "0", "give metres to 200"},
        {"--distance", "201", "give metres to 200"},
        {"--distance", "70m", "give metres to 200"},
        {"--distance", "nan", "give metres to 200"},
        {"--seconds", "0", "give seconds above 0"},
        {"--seconds", "-1", "give seconds above 0"},
        {"--seconds", "soon", "give seconds above 0"},
        {"--seconds", "inf", "give seconds above 0"},
        {"--tag", "thick", "write KEY=TEXT, up to 32 of them"},
        {"--tag", "=thick", "write KEY=TEXT, up to 32 of them"},
        {"--tag", long_tag, "write KEY=TEXT, up to 32 of them"},
        {"--tag", "tab=\xff", "write it in UTF-8"},
        {"--out", "", "give a folder"},
        {"--format", "", "take table, json or csv"},
        {"--format", "path", "take table, json or csv"},
        {"--port", "b", "give a --sensor for each --port"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        expect_refused(files, cases[i].option, cases[i].value, cases[i].todo);
    }
}

static void test_tags_at_their_limit(void **state)
{
    const struct two_profiles *files = *state;
    const char *words[TYPED_WORDS_MAX] = {"--sensor", files->string, "--port", "-"};
    for (size_t n = SH_SESSION_TAGS_MAX; n <= SH_SESSION_TAGS_MAX + 1; n++) {
        for (size_t i = 0; i < n; i++) {
            words[4 + 2 * i] = "--tag";
            words[5 + 2 * i] = "tab=thick";
        }
        words[4 + 2 * n] = NULL;
        struct sh_capture_setup setup;
        struct sh_error err = {0};
        assert_int_equal(read_words(words, &setup, &err),
                         n <= SH_SESSION_TAGS_MAX ? SH_OK : SH_ERR_ARGUMENT);
        sh_capture_setup_close(&setup);
    }
}

static void test_sensors_that_do_not_fit(void **state)
{
    const struct two_profiles *files = *state;
    struct sh_capture_setup setup;
    struct sh_error none = {0};
    const char *nothing[] = {NULL};
    assert_int_equal(read_words(nothing, &setup, &none), SH_ERR_ARGUMENT);
    assert_string_equal(none.todo, "give --sensor FILE");
    sh_capture_setup_close(&setup);

    struct sh_error twice = {0};
    const char *same[] = {"--sensor", files->string, "--sensor", files->string, NULL};
    assert_int_equal(read_words(same, &setup, &twice), SH_ERR_ARGUMENT);
    assert_string_equal(twice.what, "two streams are called 'string'");
    sh_capture_setup_close(&setup);

    struct sh_error portless = {0};
    const char *without[] = {"--sensor", files->bow, NULL};
    assert_int_equal(read_words(without, &setup, &portless), SH_ERR_ARGUMENT);
    assert_string_equal(portless.what, "no port for this sensor");
    sh_capture_setup_close(&setup);

    struct sh_error both = {0};
    const char *stdin_twice[] = {"--sensor", files->string, "--sensor", files->bow, "--port",
                                 "-",        "--port",      "-",        NULL};
    assert_int_equal(read_words(stdin_twice, &setup, &both), SH_ERR_ARGUMENT);
    assert_string_equal(both.what, "two sensors at '-'");
    sh_capture_setup_close(&setup);

    enum { TOO_MANY = SH_CAPTURE_SETUP_SENSORS_MAX + 1 };
    const char *many[2 * TOO_MANY + 1];
    for (size_t i = 0; i < TOO_MANY; i++) {
        many[2 * i] = "--port";
        many[2 * i + 1] = "a";
    }
    many[sizeof many / sizeof many[0] - 1] = NULL;
    struct sh_error full = {0};
    assert_int_equal(read_words(many, &setup, &full), SH_ERR_ARGUMENT);
    assert_string_equal(full.todo, "take up to 8 sensors");
    sh_capture_setup_close(&setup);
}

/* A file that cannot be used is no wrong command line: another status, the file named. */
static void test_files_that_cannot_be_used(void **state)
{
    const struct two_profiles *files = *state;
    char bad[SCRATCH_PATH_BYTES];
    struct sh_capture_setup setup;
    struct sh_error gone = {0};
    scratch_path(&files->scratch, "none.ini", bad);
    const char *missing[] = {"--sensor", bad, NULL};
    assert_int_equal(read_words(missing, &setup, &gone), SH_ERR_NOT_FOUND);
    sh_capture_setup_close(&setup);

    scratch_path(&files->scratch, "bad.ini", bad);
    scratch_write(bad, "[sensor]\nframing = smoke\n", 25);
    struct sh_error wrong = {0};
    const char *broken[] = {"--sensor", bad, NULL};
    assert_int_equal(read_words(broken, &setup, &wrong), SH_ERR_FORMAT);
    assert_non_null(strstr(wrong.where, "bad.ini:2"));
    sh_capture_setup_close(&setup);

    struct sh_error unknown = {0};
    scratch_write(bad, "[creep]\nleast = 1\n", 18);
    assert_int_equal(read_option(files, "--thresholds", bad, &setup, &unknown), SH_ERR_FORMAT);
    assert_non_null(strstr(unknown.where, "bad.ini:2"));
    sh_capture_setup_close(&setup);

    struct sh_error range = {0};
    scratch_write(bad, "[creep]\nleast_n = 1e9\n", 22);
    assert_int_equal(read_option(files, "--thresholds", bad, &setup, &range), SH_ERR_FORMAT);
    assert_non_null(strstr(range.where, "bad.ini:2"));
    sh_capture_setup_close(&setup);
}

static void test_thresholds_are_taken(void **state)
{
    const struct two_profiles *files = *state;
    char path[SCRATCH_PATH_BYTES];
    scratch_path(&files->scratch, "own.ini", path);
    scratch_write(path, "[creep]\nleast_n = 1.25\n", 23);
    struct sh_capture_setup setup;
    struct sh_error err = {0};
    assert_int_equal(read_option(files, "--thresholds", path, &setup, &err), SH_OK);
    assert_near(setup.thresholds.creep_least_n, 1.25, 0, 0);
    assert_true(setup.thresholds.is_user[SH_CODE_CREEP]);
    sh_capture_setup_close(&setup);
}

static void test_a_clock_is_taken(void **state)
{
    const struct two_profiles *files = *state;
    char path[SCRATCH_PATH_BYTES];
    const char text[] = "[kiln]\nshooting_s = 75\n";
    struct sh_capture_setup setup;
    struct sh_error err = {0};
    assert_int_equal(read_option(files, "--athlete", "wren", &setup, &err), SH_OK);
    assert_false(setup.has_clock);
    sh_capture_setup_close(&setup);
    assert_int_equal(read_option(files, "--clock", "mixed", &setup, &err), SH_OK);
    assert_true(setup.has_clock);
    assert_near(setup.clock.shooting_s, 80.0, 0, 0);
    sh_capture_setup_close(&setup);
    assert_int_equal(read_option(files, "--clock", "kiln", &setup, &err), SH_ERR_ARGUMENT);
    sh_capture_setup_close(&setup);
    scratch_path(&files->scratch, "rounds.ini", path);
    scratch_write(path, text, sizeof text - 1);
    const char *words[] = {"--sensor", files->string, "--port", "-", "--clock",
                           "kiln",     "--rounds",    path,     NULL};
    err = (struct sh_error){0};
    assert_int_equal(read_words(words, &setup, &err), SH_OK);
    assert_near(setup.clock.shooting_s, 75.0, 0, 0);
    sh_capture_setup_close(&setup);
}

/* Values of the clock's format; what they do not make is refused. */
static void test_values_of_the_clock(void **state)
{
    static const char *const refused[] = {"shooting_s=4", "shooting", "warning_s=90"};
    const struct two_profiles *files = *state;
    struct sh_capture_setup setup;
    struct sh_error err = {0};
    const char *words[] = {"--sensor",      files->string, "--port", "-", "--set",
                           "shooting_s=77", "--clock",     "mixed",  NULL};
    assert_int_equal(read_words(words, &setup, &err), SH_OK);
    assert_near(setup.clock.shooting_s, 77.0, 0, 0);
    assert_near(setup.clock.line_up_s, 10.0, 0, 0);
    sh_capture_setup_close(&setup);
    for (size_t i = 0; i < sizeof refused / sizeof refused[0]; i++) {
        words[5] = refused[i];
        assert_int_equal(read_words(words, &setup, &err), SH_ERR_ARGUMENT);
        assert_non_null(strstr(err.where, "--set"));
        sh_capture_setup_close(&setup);
    }
    words[6] = NULL; /* no format to be changed */
    assert_int_equal(read_words(words, &setup, &err), SH_ERR_ARGUMENT);
    sh_capture_setup_close(&setup);
}

/* The clock is silent until it is switched on; of two ways the louder counts. */
static void test_the_clock_is_silent_at_first(void **state)
{
    static const struct {
        const char *words[3];
        enum sh_clock_voice_kind kind;
    } cases[] = {{{"--sound", NULL, NULL}, SH_CLOCK_VOICE_SILENT},
                 {{"--goal-sound", NULL, NULL}, SH_CLOCK_VOICE_SILENT},
                 {{"--clock-sound", NULL, NULL}, SH_CLOCK_VOICE_ONCE},
                 {{"--clock-signals", NULL, NULL}, SH_CLOCK_VOICE_SIGNALS},
                 {{"--clock-signals", "--clock-sound", NULL}, SH_CLOCK_VOICE_SIGNALS}};
    const struct two_profiles *files = *state;
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        struct sh_capture_setup setup;
        struct sh_error err = {0};
        const char *words[] = {"--sensor",        files->string,     "--port", "-",
                               cases[i].words[0], cases[i].words[1], NULL};
        assert_int_equal(read_words(words, &setup, &err), SH_OK);
        assert_int_equal(setup.clock_voice, cases[i].kind);
        sh_capture_setup_close(&setup);
    }
}

/* A bow's file, and an option behind it that goes before it. */
static void test_a_bow_comes_from_its_file(void **state)
{
    const struct two_profiles *files = *state;
    static const char text[] = "[bow]\nname = blue 66\nstiffness_n_per_m = 412\n"
                               "stiffness_u_n_per_m = 9\ndraw_weight_n = 178\n";
    char path[SCRATCH_PATH_BYTES];
    struct sh_capture_setup setup;
    struct sh_error err = {0};
    scratch_path(&files->scratch, "bow-figures.ini", path);
    scratch_write(path, text, sizeof text - 1);
    const char *words[] = {"--sensor", files->string,   "--port", "-", "--bow-file",
                           path,       "--draw-weight", "40lb",   NULL};
    assert_int_equal(read_words(words, &setup, &err), SH_OK);
    const struct sh_bow *bow = &setup.session->bow;
    assert_string_equal(bow->name, "blue 66");
    assert_near(bow->stiffness_n_per_m.value, 412.0, 0.0, 0.0);
    assert_near(bow->stiffness_n_per_m.u, 9.0, 0.0, 0.0);
    assert_near(bow->draw_weight_n.value, 40.0 * SH_UNITS_LBF_N, 1e-12, 0.0);
    sh_capture_setup_close(&setup);
    scratch_write(path, "[bow]\nlimbs = 2\n", 16);
    assert_int_equal(read_words(words, &setup, &err), SH_ERR_FORMAT);
    assert_non_null(strstr(err.where, "bow-figures.ini:2"));
    sh_capture_setup_close(&setup);
}

/* The help is made from the table: all of it must be in the command. */
static void test_the_command_has_every_option(void **state)
{
    assert_int_equal(sh_command_capture.n_options, SH_CAPTURE_SETUP_N_OPTIONS);
    assert_ptr_equal(sh_command_capture.options, sh_capture_setup_options);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_all_options),
        cmocka_unit_test(test_little_is_needed),
        cmocka_unit_test(test_sensors_side_by_side),
        cmocka_unit_test(test_forces_of_the_bow),
        cmocka_unit_test(test_refusals),
        cmocka_unit_test(test_tags_at_their_limit),
        cmocka_unit_test(test_sensors_that_do_not_fit),
        cmocka_unit_test(test_files_that_cannot_be_used),
        cmocka_unit_test(test_thresholds_are_taken),
        cmocka_unit_test(test_a_clock_is_taken),
        cmocka_unit_test(test_values_of_the_clock),
        cmocka_unit_test(test_the_clock_is_silent_at_first),
        cmocka_unit_test(test_a_bow_comes_from_its_file),
        cmocka_unit_test(test_the_command_has_every_option),
    };
    return cmocka_run_group_tests(tests, open_profiles, close_profiles);
}
