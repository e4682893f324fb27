/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/manual.h"

#include <string.h>

#include "support/cmocka_all.h"

static const struct sh_command_option options[] = {
    {"out", "FILE", "where to; - is standard output", 'o'},
    {"first-pass", NULL, ".only once", 0},
};
static const struct sh_command look = {.name = "look",
                                       .operands = "RECORDING N",
                                       .summary = "Looks.",
                                       .details = "One line,\n'another \\ one.",
                                       .options = options,
                                       .n_options = 2};
static const struct sh_command list = {.name = "list", .operands = "", .summary = "Lists."};
static const struct sh_command *const commands[] = {&look, &list};

static void check_holds(const struct sh_text *text, const char *part)
{
    assert_int_equal(text->status, SH_OK);
    if (strstr(text->data, part) == NULL) {
        fail_msg("'%s' is missing in:\n%s", part, text->data);
    }
}

static void test_page(void **state)
{
    struct sh_text text;
    sh_text_init(&text, 0);
    sh_manual_format_page(commands, 2, &text);
    assert_int_equal(strncmp(text.data, ".TH STRINGHAND 1 ", 17), 0);
    check_holds(&text, ".SS stringhand look [options] RECORDING N\n"
                       "Looks.\n"
                       ".PP\n"
                       "One line,\n"
                       "\\&'another \\e one.\n"
                       ".TP\n"
                       "\\fB\\-o\\fR, \\fB\\-\\-out\\fR \\fIFILE\\fR\n"
                       "where to; \\- is standard output\n"
                       ".TP\n"
                       "\\fB\\-\\-first\\-pass\\fR\n"
                       "\\&.only once\n"
                       ".SS stringhand list\n"
                       "Lists.\n"
                       ".SH EXIT STATUS\n");
    sh_text_close(&text);
}

static void test_completion(void **state)
{
    struct sh_text text;
    sh_text_init(&text, 0);
    sh_manual_format_completion(commands, 2, &text);
    check_holds(&text, "compgen -W 'look list --help --version --manual --completion' -- ");
    check_holds(&text, "    look) options='--out --first-pass --help' ;;\n"
                       "    list) options='--help' ;;\n");
    sh_text_close(&text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_page),
        cmocka_unit_test(test_completion),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
