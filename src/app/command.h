/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_COMMAND_H
#define SH_APP_COMMAND_H

#include <stddef.h>

#include "base/status.h"
#include "base/text.h"

/*
 * The command line: one table a command, from which getopt_long's options and the help are
 * made.
 */

/* Exit statuses of the program (docs/machine-readable.md). */
enum sh_exit { SH_EXIT_DONE = 0, SH_EXIT_INPUT = 1, SH_EXIT_USAGE = 2 };

struct sh_command_option {
    const char *name;     /* "format": given as --format */
    const char *argument; /* "FORMAT", or NULL where the option takes none */
    const char *help;     /* one line */
    char letter;          /* 'o' where -o stands for it, else 0 */
};

#define SH_COMMAND_OPTIONS_MAX 32u
#define SH_COMMAND_VALUES_MAX  64u

/* One option as given: which, and its argument ("" where it takes none). */
struct sh_command_value {
    size_t option; /* index into the command's options */
    const char *text;
};

/* A parsed command line; the texts are those of argv. */
struct sh_command_line {
    struct sh_command_value values[SH_COMMAND_VALUES_MAX]; /* in the order given */
    size_t n_values;
    char **operands;
    size_t n_operands;
};

struct sh_command {
    const char *name;
    const char *operands; /* "RECORDING", for the help */
    const char *summary;  /* one line */
    const char *details;  /* further lines of the help, or NULL */
    size_t n_operands_min;
    size_t n_operands_max;
    const struct sh_command_option *options;
    size_t n_options;
    enum sh_exit (*run)(const struct sh_command *command, const struct sh_command_line *line);
};

/* Answers of sh_command_parse that are no errors. */
enum sh_command_wish { SH_COMMAND_RUN, SH_COMMAND_HELP };

/*
 * Parses argv[1..] of `stringhand NAME ...` (argv[0] is NAME) into line, which borrows argv.
 * An unknown option, a missing argument and a wrong number of operands give SH_ERR_ARGUMENT
 * with a line for a person. --help anywhere gives *wish SH_COMMAND_HELP. Not thread-safe
 * (getopt).
 */
enum sh_status sh_command_parse(const struct sh_command *command,
                                int argc,
                                char **argv,
                                struct sh_command_line *line,
                                enum sh_command_wish *wish,
                                struct sh_error *err);

/* The last value given for an option by name, or fallback. The command must have the option. */
const char *sh_command_get(const struct sh_command *command,
                           const struct sh_command_line *line,
                           const char *name,
                           const char *fallback);

/* Writes the help of one command, and of all of them. */
void sh_command_format_help(const struct sh_command *command, struct sh_text *text);
void sh_command_format_overview(const struct sh_command *const *commands,
                                size_t n_commands,
                                struct sh_text *text);

#endif
