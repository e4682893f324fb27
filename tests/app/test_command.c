/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/command.h"

#include <string.h>

#include "support/cmocka_all.h"

static const struct sh_command_option options[] = {
    {"format", "FORMAT", "table, json or csv", 'f'},
    {"first-pass", NULL, "only what was shown live", 0},
};

static enum sh_exit run_nothing(const struct sh_command *command,
                                const struct sh_command_line *line)
{
    return SH_EXIT_DONE;
}

static const struct sh_command look = {.name = "look",
                                       .operands = "RECORDING",
                                       .summary = "Looks.",
                                       .n_operands_min = 1,
                                       .n_operands_max = 1,
                                       .options = options,
                                       .n_options = 2,
                                       .run = run_nothing};

struct parsed {
    enum sh_status status;
    enum sh_command_wish wish;
    struct sh_command_line line;
    struct sh_error err;
};

/* getopt reorders its argv: it gets a copy of the words, which stays until the next call. */
static struct parsed parse(const char *const *words)
{
    static char *argv[SH_COMMAND_VALUES_MAX + 8];
    int argc = 0;
    while (words[argc] != NULL) {
        argc++;
    }
    memcpy(argv, words, ((size_t)argc + 1) * sizeof argv[0]);
    struct parsed parsed = {0};
    parsed.status =
        sh_command_parse(&look, argc, argv, &parsed.line, &parsed.wish, &parsed.err);
    return parsed;
}

static void test_options_and_operands(void **state)
{
    const char *argv[] = {"look", "tuesday", "--format", "json", "--format=csv", NULL};
    struct parsed parsed = parse(argv);
    assert_int_equal(parsed.status, SH_OK);
    assert_int_equal(parsed.line.n_operands, 1);
    assert_string_equal(parsed.line.operands[0], "tuesday");
    assert_int_equal(parsed.line.n_values, 2);
    assert_string_equal(sh_command_get(&look, &parsed.line, "format", "table"), "csv");
    assert_null(sh_command_get(&look, &parsed.line, "first-pass", NULL));
    const char *again[] = {"look", "--first-pass", "tuesday", NULL};
    parsed = parse(again);
    assert_string_equal(sh_command_get(&look, &parsed.line, "format", "table"), "table");
    assert_string_equal(sh_command_get(&look, &parsed.line, "first-pass", NULL), "");
}

static void test_letters(void **state)
{
    const char *argv[] = {"look", "-f", "csv", "tuesday", NULL};
    struct parsed parsed = parse(argv);
    assert_int_equal(parsed.status, SH_OK);
    assert_string_equal(sh_command_get(&look, &parsed.line, "format", "table"), "csv");
    const char *unknown[] = {"look", "-q", "tuesday", NULL};
    assert_int_equal(parse(unknown).status, SH_ERR_ARGUMENT);
    const char *empty[] = {"look", "tuesday", "-f", NULL};
    assert_string_equal(parse(empty).err.what, "no value behind -f");
}

static void test_refusals_say_what_and_what_to_do(void **state)
{
    const char *unknown[] = {"look", "tuesday", "--colour", NULL};
    const char *valueless[] = {"look", "tuesday", "--format", NULL};
    const char *empty[] = {"look", NULL};
    const char *many[] = {"look", "tuesday", "friday", NULL};
    struct {
        const char *const *argv;
        const char *what;
    } cases[] = {{unknown, "unknown option --colour"},
                 {valueless, "no value behind --format"},
                 {empty, "missing RECORDING"},
                 {many, "one word too many: friday"}};
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        struct parsed parsed = parse(cases[i].argv);
        assert_int_equal(parsed.status, SH_ERR_ARGUMENT);
        assert_string_equal(parsed.err.what, cases[i].what);
        assert_string_equal(parsed.err.todo, "see 'stringhand look --help'");
    }
}

static void test_too_many_options(void **state)
{
    const char *argv[SH_COMMAND_VALUES_MAX + 4] = {"look"};
    for (size_t i = 1; i <= SH_COMMAND_VALUES_MAX; i++) {
        argv[i] = "--first-pass";
    }
    argv[SH_COMMAND_VALUES_MAX + 1] = "tuesday";
    assert_int_equal(parse(argv).status, SH_OK);
    argv[SH_COMMAND_VALUES_MAX + 1] = "--first-pass";
    argv[SH_COMMAND_VALUES_MAX + 2] = "tuesday";
    assert_int_equal(parse(argv).status, SH_ERR_ARGUMENT);
}

static void test_help_names_every_option(void **state)
{
    const char *argv[] = {"look", "--help", NULL};
    assert_int_equal(parse(argv).wish, SH_COMMAND_HELP);
    struct sh_text text;
    sh_text_init(&text, 0);
    sh_command_format_help(&look, &text);
    assert_non_null(strstr(text.data, "-f, --format FORMAT"));
    assert_non_null(strstr(text.data, "--first-pass"));
    sh_text_reset(&text);
    const struct sh_command *const commands[] = {&look};
    sh_command_format_overview(commands, 1, &text);
    assert_non_null(strstr(text.data, "look        Looks."));
    sh_text_close(&text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_options_and_operands),
        cmocka_unit_test(test_letters),
        cmocka_unit_test(test_refusals_say_what_and_what_to_do),
        cmocka_unit_test(test_too_many_options),
        cmocka_unit_test(test_help_names_every_option),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
