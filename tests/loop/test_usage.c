/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "app/commands.h"
#include "loop/program.h"
#include "support/cmocka_all.h"

/* Command lines that are wrong, each in its own way, and a word of the answer. */
static const struct {
    const char *words[12];
    const char *says;
} wrong[] = {
    {{NULL}, "no command given"},
    {{""}, "no such command"},
    {{"aim"}, "aim"},
    {{"--aim"}, "no such command"},
    {{"Analyze"}, "no such command"},
    {{"analyze"}, "missing RECORDING"},
    {{"analyze", "a", "b"}, "one word too many: b"},
    {{"analyze", "--aim", "a"}, "unknown option --aim"},
    {{"analyze", "-q", "a"}, "unknown option -q"},
    {{"analyze", "-qz", "a"}, "unknown option -q"},
    {{"analyze", "a", "--format"}, "no value behind --format"},
    {{"analyze", "a", "--format", "xml"}, "'xml' is no format"},
    {{"analyze", "a", "--format", ""}, "'' is no format"},
    {{"analyze", "a", "--first-pass=yes"}, "--first-pass"},
    {{"report"}, "missing RECORDING"},
    {{"report", "a", "-o"}, "no value behind -o"},
    {{"report", "a", "--out"}, "no value behind --out"},
    {{"goals"}, "missing ATHLETE"},
    {{"limits"}, "missing ATHLETE"},
    {{"limits", "wren", "rook"}, "one word too many: rook"},
    {{"limits", "wren", "--format", "csv"}, "'csv' is no format"},
    {{"limits", "wren", "--on", "soon"}, "'soon' is no day"},
    {{"limits", "wren", "--set", "patience", "--per", "day", "--most", "1"}, "'patience'"},
    {{"limits", "wren", "--end", "0"}, "'0'"},
    {{"limits", "wren", "--confirm"}, "together"},
    {{"load"}, "missing ATHLETE"},
    {{"load", "wren", "60"}, "one word too many: 60"},
    {{"load", "wren", "--format", "xml"}, "'xml' is no format"},
    {{"load", "wren", "--until", "soon"}, "'soon' is no day"},
    {{"load", "wren", "--from", "2026-02-30"}, "'2026-02-30'"},
    {{"load", "wren", "--from", "2026-05-02", "--until", "2026-05-01"}, "behind the last"},
    {{"load", "wren", "--level", "hard"}, "'hard'"},
    {{"load", "wren", "--rest", "today", "--forget", "today"}, "two things at once"},
    {{"load", "wren", "--add", "2026-05-01"}, "too few"},
    {{"load", "wren", "--rest", "2026-05-01", "x"}, "'x'"},
    {{"clock", "a"}, "one word too many: a"},
    {{"clock", "--format", "darts"}, "'darts' is no format"},
    {{"clock", "--format", "team", "--set", "arrows"}, "'arrows' is no setting"},
    {{"clock", "--set", "arrows=0"}, "arrows cannot be 0"},
    {{"clock", "--set", "warning_s=120"}, "before its time"},
    {{"clock", "--signals"}, "was not typed"},
    {{"ports", "a"}, "one word too many: a"},
    {{"ports", "--all"}, "unknown option --all"},
    {{"simulate"}, "nowhere to put it"},
    {{"simulate", "a"}, "one word too many: a"},
    {{"simulate", "--out", ""}, "--out"},
    {{"simulate", "--out", "a", "--seed", "-1"}, "--seed"},
    {{"simulate", "--out", "a", "--seed", ""}, "--seed"},
    {{"simulate", "--out", "a", "--seed", "1x"}, "--seed"},
    {{"simulate", "--out", "a", "--seed", "18446744073709551616"}, "--seed"},
    {{"simulate", "--out", "a", "--set", "smoke"}, "smoke"},
    {{"simulate", "--out", "a", "--set", ""}, "--set"},
    {{"simulate", "--out", "a", "--draws", "0"}, "--draws"},
    {{"simulate", "--out", "a", "--draws", "2001"}, "--draws"},
    {{"simulate", "--out", "a", "--draws", "1.5"}, "--draws"},
    {{"simulate", "--out", "a", "--draws", ""}, "--draws"},
    {{"simulate", "--out", "a", "--draws", "nan"}, "--draws"},
    {{"simulate", "--out", "a", "--clock", "0"}, "--clock"},
    {{"simulate", "--out", "a", "--clock", ""}, "--clock"},
    {{"simulate", "--out", "a", "--clock", "3601"}, "--clock"},
    {{"simulate", "--out", "a", "--draw-weight", "39"}, "--draw-weight"},
    {{"simulate", "--out", "a", "--draw-weight", "301"}, "--draw-weight"},
    {{"simulate", "--out", "a", "--force-range", "19"}, "--force-range"},
    {{"simulate", "--out", "a", "--force-range", "1001"}, "--force-range"},
    {{"simulate", "--out", "a", "--double-draws", "1.1"}, "--double-draws"},
    {{"simulate", "--out", "a", "--tab-takes", "-0.1"}, "--tab-takes"},
    {{"simulate", "--out", "a", "--faults", "smoke"}, "--faults"},
    {{"simulate", "--out", "a", "--faults", "creep,smoke"}, "smoke"},
    {{"simulate", "--out", "a", "--athlete", "\xff"}, "--athlete"},
    {{"simulate", "--out", "a", "--speed", "2"}, "--speed"},
    {{"simulate", "--out", "a", "--link", "b"}, "--link"},
    {{"simulate", "--pty", "--speed", "0"}, "--speed"},
    {{"simulate", "--pty", "--speed", "fast"}, "--speed"},
    {{"simulate", "--pty", "--flac"}, "--flac"},
    {{"calibrate"}, "no sensor profile given"},
    {{"calibrate", "a"}, "one word too many: a"},
    {{"calibrate", "--sensor", ""}, "--sensor"},
    {{"calibrate", "--bow", ""}, "--bow"},
    {{"calibrate", "--format", "csv"}, "--format"},
    {{"calibrate", "--latitude", "91"}, "--latitude"},
    {{"calibrate", "--height", "10"}, "--height"},
    {{"calibrate", "--height", "9001"}, "--height"},
    {{"calibrate", "--gravity", "9.6"}, "--gravity"},
    {{"calibrate", "--gravity", "9.8", "--latitude", "52"}, "gravity and a place"},
    {{"calibrate", "--mass-u", "0.6"}, "--mass-u"},
    {{"calibrate", "--force-u", "-1"}, "--force-u"},
    {{"calibrate", "--seconds", "0.4"}, "--seconds"},
    {{"calibrate", "--seconds", "61"}, "--seconds"},
    {{"calibrate", "--column", "0"}, "--column"},
    {{"calibrate", "--column", "1.5"}, "--column"},
    {{"calibrate", "--date", "2026-02-30"}, "--date"},
    {{"calibrate", "--draw-length", "28"}, "--draw-length"},
    {{"calibrate", "--draw-length", "0 in"}, "--draw-length"},
    {{"calibrate", "--draw-u", "51 mm"}, "--draw-u"},
    {{"calibrate", "--bow", "a", "--sensor", "b"}, "a bow and a sensor"},
    {{"calibrate", "--bow", "a", "--crosstalk"}, "a bow and a sensor"},
    {{"capture"}, "no sensor profile given"},
    {{"capture", "a"}, "one word too many: a"},
    {{"capture", "--sensor"}, "no value behind --sensor"},
    {{"capture", "--clicker", "perhaps"}, "--clicker"},
    {{"capture", "--draw-weight", "heavy"}, "--draw-weight"},
    {{"capture", "--stiffness", "0"}, "--stiffness"},
    {{"capture", "--distance", "far"}, "--distance"},
    {{"capture", "--seconds", "0"}, "--seconds"},
    {{"capture", "--tag", "thick"}, "--tag"},
    {{"capture", "--out", ""}, "--out"},
    {{"capture", "--athlete", "\xc3"}, "--athlete"},
    {{"capture", "--format", "path"}, "take table, json or csv"},
};

/* Exit status 2, nothing on standard output, one line that says what, and what to do. */
static void
check_refused(const struct scratch *scratch, const char *const *words, const char *says)
{
    struct program program;
    int status = program_run(&program, scratch, "usage", words);
    char *out = program_read_out(&program);
    char *err = program_read_err(&program);
    const char *end = strchr(err, '\n');
    bool is_one_line = end != NULL && end[1] == '\0';
    bool has_todo = strstr(err, "; ") != NULL;
    if (status != 2 || out[0] != '\0' || !is_one_line || !has_todo ||
        strncmp(err, "stringhand: ", 12) != 0 || strstr(err, says) == NULL) {
        fail_msg("%s %s %s %s: status %d, wanted '%s', said: %s%s", words[0],
                 words[0] != NULL && words[1] != NULL ? words[1] : "",
                 words[0] != NULL && words[1] != NULL && words[2] != NULL ? words[2] : "",
                 "...", status, says, out, err);
    }
    free(out);
    free(err);
}

static void test_wrong_command_lines(void **state)
{
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
        check_refused(*state, wrong[i].words, wrong[i].says);
    }
}

static void test_too_many_options(void **state)
{
    const char *words[PROGRAM_WORDS_MAX + 1] = {"capture", "--sensor", "a"};
    for (size_t i = 3; i + 1 < PROGRAM_WORDS_MAX; i += 2) {
        words[i] = "--port";
        words[i + 1] = "b";
    }
    check_refused(*state, words, "take up to 8 sensors");
}

static char *read_help(const struct scratch *scratch, const char *const *words)
{
    struct program program;
    assert_int_equal(program_run(&program, scratch, "help", words), 0);
    char *err = program_read_err(&program);
    assert_string_equal(err, "");
    free(err);
    return program_read_out(&program);
}

static void check_option(const char *help, const char *name, const char *argument)
{
    char line[80];
    (void)snprintf(line, sizeof line, "--%s%s%s", name, argument != NULL ? " " : "",
                   argument != NULL ? argument : "");
    const char *at = strstr(help, line);
    if (at == NULL) {
        fail_msg("the help does not name %s", line);
        return;
    }
    at += strlen(line);
    assert_true(*at == ' '); /* a column, then a text */
    at += strspn(at, " ");
    assert_true(*at != '\n' && *at != '\0');
}

static void test_the_help_of_each_command_names_each_option(void **state)
{
    for (size_t i = 0; i < SH_COMMANDS_COUNT; i++) {
        const struct sh_command *command = sh_commands[i];
        const char *words[] = {command->name, "--help", NULL};
        char *help = read_help(*state, words);
        char first[64];
        (void)snprintf(first, sizeof first, "stringhand %s [options]", command->name);
        assert_int_equal(strncmp(help, first, strlen(first)), 0);
        for (size_t k = 0; k < command->n_options; k++) {
            check_option(help, command->options[k].name, command->options[k].argument);
        }
        check_option(help, "help", NULL);
        free(help);
    }
}

/* Even among words that are wrong behind it. */
static void test_help_goes_before_what_is_wrong(void **state)
{
    const char *words[] = {"simulate", "a", "b", "--help", NULL};
    char *help = read_help(*state, words);
    assert_non_null(strstr(help, "--seed N"));
    free(help);
}

static void test_the_overview_names_each_command(void **state)
{
    const char *words[] = {"--help", NULL};
    char *help = read_help(*state, words);
    size_t n_lines = 0;
    const char *list = strstr(help, "Commands:\n");
    assert_non_null(list);
    for (const char *at = strstr(list, "\n  "); at != NULL; at = strstr(at + 1, "\n  ")) {
        n_lines++;
    }
    assert_int_equal(n_lines, SH_COMMANDS_COUNT); /* this test knows all of them */
    for (size_t i = 0; i < SH_COMMANDS_COUNT; i++) {
        char line[64];
        (void)snprintf(line, sizeof line, "\n  %s ", sh_commands[i]->name);
        assert_non_null(strstr(help, line));
        assert_non_null(strstr(help, sh_commands[i]->summary));
    }
    free(help);
}

static void test_version(void **state)
{
    const char *words[] = {"--version", NULL};
    char *version = read_help(*state, words);
    assert_string_equal(version, "stringhand " SH_VERSION "\n");
    free(version);
}

static void test_the_cautions_of_capture_are_in_its_help(void **state)
{
    const char *words[] = {"capture", "--help", NULL};
    char *help = read_help(*state, words);
    assert_non_null(strstr(help, "Shoot only on a range, under its rules and its officer."));
    assert_non_null(strstr(help, "comes apart under a light pull"));
    free(help);
}

/* A full disk under standard output is told, with status 1. */
static void test_output_that_cannot_be_written(void **state)
{
    struct scratch full = *(struct scratch *)*state;
    struct program program;
    const char *words[] = {"--help", NULL};
    char link[SCRATCH_PATH_BYTES];
    scratch_path(&full, "full.out", link);
    assert_int_equal(symlink("/dev/full", link), 0);
    assert_int_equal(program_run(&program, &full, "full", words), 1);
    char *err = program_read_err(&program);
    assert_non_null(strstr(err, "standard output: cannot write"));
    free(err);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_wrong_command_lines),
        cmocka_unit_test(test_too_many_options),
        cmocka_unit_test(test_the_help_of_each_command_names_each_option),
        cmocka_unit_test(test_help_goes_before_what_is_wrong),
        cmocka_unit_test(test_the_overview_names_each_command),
        cmocka_unit_test(test_version),
        cmocka_unit_test(test_the_cautions_of_capture_are_in_its_help),
        cmocka_unit_test(test_output_that_cannot_be_written),
    };
    return cmocka_run_group_tests(tests, scratch_set_up, scratch_tear_down);
}
