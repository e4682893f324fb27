/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/command.h"

#include <getopt.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>

#define FIRST_VALUE  256 /* above all letters */
#define HELP_VALUE   (FIRST_VALUE + (int)SH_COMMAND_OPTIONS_MAX)
#define COLUMN_BYTES 28
#define WHERE_BYTES  128

/* The option's value in getopt's answers: its letter, else its index out of the letters' way.
 */
static int get_answer(const struct sh_command *command, size_t i)
{
    char letter = command->options[i].letter;
    return letter != 0 ? letter : FIRST_VALUE + (int)i;
}

static size_t find_option(const struct sh_command *command, int answer)
{
    size_t i = 0;
    while (i < command->n_options && get_answer(command, i) != answer) {
        i++;
    }
    return i;
}

/* ":" and the letters, those with an argument followed by ":". */
static void make_letters(const struct sh_command *command,
                         char letters[2 * SH_COMMAND_OPTIONS_MAX + 2])
{
    size_t n = 0;
    letters[n++] = ':';
    for (size_t i = 0; i < command->n_options; i++) {
        if (command->options[i].letter != 0) {
            letters[n++] = command->options[i].letter;
            letters[n] = ':';
            n += command->options[i].argument != NULL ? 1 : 0;
        }
    }
    letters[n] = '\0';
}

/* The table as getopt_long wants it. */
static void make_long_options(const struct sh_command *command,
                              struct option options[SH_COMMAND_OPTIONS_MAX + 2])
{
    size_t n = command->n_options;
    for (size_t i = 0; i < n; i++) {
        int takes = command->options[i].argument != NULL ? required_argument : no_argument;
        options[i] =
            (struct option){command->options[i].name, takes, NULL, get_answer(command, i)};
    }
    options[n] = (struct option){"help", no_argument, NULL, HELP_VALUE};
    options[n + 1] = (struct option){NULL, 0, NULL, 0};
}

static enum sh_status refuse(const struct sh_command *command,
                             struct sh_error *err,
                             const char *what,
                             const char *word)
{
    char todo[WHERE_BYTES];
    (void)snprintf(todo, sizeof todo, "see 'stringhand %s --help'", command->name);
    return sh_error_set(err, SH_ERR_ARGUMENT, command->name, todo, "%s%s", what, word);
}

/* word is the last that getopt has done with; one with several letters may not be done yet. */
static enum sh_status
refuse_option(const struct sh_command *command, const char *word, struct sh_error *err)
{
    const char letter[3] = {'-', (char)optopt, '\0'};
    bool is_letter = optopt > 0 && optopt < FIRST_VALUE && strncmp(word, "--", 2) != 0;
    return refuse(command, err, "unknown option ", is_letter ? letter : word);
}

static enum sh_status check_operands(const struct sh_command *command,
                                     const struct sh_command_line *line,
                                     struct sh_error *err)
{
    if (line->n_operands < command->n_operands_min) {
        return refuse(command, err, "missing ", command->operands);
    }
    if (line->n_operands > command->n_operands_max) {
        return refuse(command, err,
                      "one word too many: ", line->operands[command->n_operands_max]);
    }
    return SH_OK;
}

static enum sh_status keep_value(const struct sh_command *command,
                                 struct sh_command_line *line,
                                 size_t option,
                                 struct sh_error *err)
{
    if (line->n_values == SH_COMMAND_VALUES_MAX) {
        return refuse(command, err, "too many options: --", command->options[option].name);
    }
    line->values[line->n_values++] =
        (struct sh_command_value){option, optarg != NULL ? optarg : ""};
    return SH_OK;
}

enum sh_status sh_command_parse(const struct sh_command *command,
                                int argc,
                                char **argv,
                                struct sh_command_line *line,
                                enum sh_command_wish *wish,
                                struct sh_error *err)
{
    struct option options[SH_COMMAND_OPTIONS_MAX + 2];
    char letters[2 * SH_COMMAND_OPTIONS_MAX + 2];
    make_long_options(command, options);
    make_letters(command, letters);
    *line = (struct sh_command_line){0};
    *wish = SH_COMMAND_RUN;
    optind = 0; /* glibc: start afresh */
    opterr = 0;
    int found = 0;
    while ((found = getopt_long(argc, argv, letters, options, NULL)) != -1) {
        if (found == HELP_VALUE) {
            *wish = SH_COMMAND_HELP;
            return SH_OK;
        }
        if (found == ':') {
            return refuse(command, err, "no value behind ", argv[optind - 1]);
        }
        if (found == '?') {
            return refuse_option(command, argv[optind - 1], err);
        }
        enum sh_status status = keep_value(command, line, find_option(command, found), err);
        if (status != SH_OK) {
            return status;
        }
    }
    line->operands = argv + optind;
    line->n_operands = (size_t)(argc - optind);
    return check_operands(command, line, err);
}

const char *sh_command_get(const struct sh_command *command,
                           const struct sh_command_line *line,
                           const char *name,
                           const char *fallback)
{
    const char *text = fallback;
    for (size_t i = 0; i < line->n_values; i++) {
        if (strcmp(command->options[line->values[i].option].name, name) == 0) {
            text = line->values[i].text;
        }
    }
    return text;
}

static void format_option(struct sh_text *text, const struct sh_command_option *option)
{
    char column[64];
    char letter[8] = "";
    if (option->letter != 0) {
        (void)snprintf(letter, sizeof letter, "-%c, ", option->letter);
    }
    (void)snprintf(column, sizeof column, "%s--%s%s%s", letter, option->name,
                   option->argument != NULL ? " " : "",
                   option->argument != NULL ? option->argument : "");
    sh_text_printf(text, "  %-*s%s\n", COLUMN_BYTES, column, option->help);
}

void sh_command_format_help(const struct sh_command *command, struct sh_text *text)
{
    sh_text_printf(text, "stringhand %s [options] %s\n\n%s\n", command->name, command->operands,
                   command->summary);
    if (command->details != NULL) {
        sh_text_printf(text, "\n%s\n", command->details);
    }
    sh_text_puts(text, "\nOptions:\n");
    for (size_t i = 0; i < command->n_options; i++) {
        format_option(text, &command->options[i]);
    }
    const struct sh_command_option help = {.name = "help", .help = "show this text"};
    format_option(text, &help);
}

void sh_command_format_overview(const struct sh_command *const *commands,
                                size_t n_commands,
                                struct sh_text *text)
{
    sh_text_puts(text,
                 "stringhand COMMAND [options] ...\n\n"
                 "Finds and measures the shots of a recurve bow in what a sensor sends.\n\n"
                 "Commands:\n");
    for (size_t i = 0; i < n_commands; i++) {
        sh_text_printf(text, "  %-12s%s\n", commands[i]->name, commands[i]->summary);
    }
    sh_text_puts(text, "\n'stringhand COMMAND --help' tells more of each; "
                       "'stringhand --version' tells the version.\n");
}
