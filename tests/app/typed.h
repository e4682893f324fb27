/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_TESTS_APP_TYPED_H
#define SH_TESTS_APP_TYPED_H

#include "app/command.h"

/* A command line as a person types it. */

#define TYPED_WORDS_MAX 80u

struct typed {
    char *argv[TYPED_WORDS_MAX + 2];
    struct sh_command_line line;
};

/*
 * Parses words (NULL at the end) behind the command's name; fails the running test where they
 * are no command line of it. typed->line borrows the words and *typed.
 */
void typed_parse(struct typed *typed,
                 const struct sh_command *command,
                 const char *const *words);

#endif
