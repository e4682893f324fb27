/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <stdio.h>
#include <string.h>

#include "app/commands.h"
#include "app/manual.h"
#include "app/say.h"

static const struct sh_command *find_command(const char *name)
{
    for (size_t i = 0; i < SH_COMMANDS_COUNT; i++) {
        if (strcmp(sh_commands[i]->name, name) == 0) {
            return sh_commands[i];
        }
    }
    return NULL;
}

/* Answers of the program itself. */
static const struct answer {
    const char *option;
    void (*format)(const struct sh_command *const *commands,
                   size_t n_commands,
                   struct sh_text *text);
} answers[] = {
    {"--help", sh_command_format_overview},
    {"--manual", sh_manual_format_page},
    {"--completion", sh_manual_format_completion},
};

static const struct answer *find_answer(const char *option)
{
    for (size_t i = 0; i < sizeof answers / sizeof answers[0]; i++) {
        if (strcmp(answers[i].option, option) == 0) {
            return &answers[i];
        }
    }
    return NULL;
}

static enum sh_exit print_answer(const struct answer *answer)
{
    struct sh_text text;
    sh_text_init(&text, 0);
    answer->format(sh_commands, SH_COMMANDS_COUNT, &text);
    return sh_say_text(&text);
}

static enum sh_exit print_help(const struct sh_command *command)
{
    struct sh_text text;
    sh_text_init(&text, 0);
    sh_command_format_help(command, &text);
    return sh_say_text(&text);
}

static enum sh_exit run_command(const struct sh_command *command, int argc, char **argv)
{
    struct sh_command_line line;
    struct sh_error err = {0};
    enum sh_command_wish wish = SH_COMMAND_RUN;
    if (sh_command_parse(command, argc, argv, &line, &wish, &err) != SH_OK) {
        return sh_say_error(&err, SH_EXIT_USAGE);
    }
    return wish == SH_COMMAND_HELP ? print_help(command) : command->run(command, &line);
}

int main(int argc, char **argv)
{
    struct sh_error err = {0};
    if (argc < 2) {
        (void)sh_error_set(&err, SH_ERR_ARGUMENT, NULL, "see 'stringhand --help'",
                           "no command given");
        return (int)sh_say_error(&err, SH_EXIT_USAGE);
    }
    const struct answer *answer = find_answer(argv[1]);
    if (answer != NULL) {
        return (int)print_answer(answer);
    }
    if (strcmp(argv[1], "--version") == 0) {
        (void)printf("stringhand %s\n", SH_VERSION);
        return SH_EXIT_DONE;
    }
    const struct sh_command *command = find_command(argv[1]);
    if (command == NULL) {
        (void)sh_error_set(&err, SH_ERR_ARGUMENT, argv[1], "see 'stringhand --help'",
                           "there is no such command");
        return (int)sh_say_error(&err, SH_EXIT_USAGE);
    }
    return (int)run_command(command, argc - 1, argv + 1);
}
