/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/typed.h"

#include <string.h>

#include "support/cmocka_all.h"

void typed_parse(struct typed *typed,
                 const struct sh_command *command,
                 const char *const *words)
{
    enum sh_command_wish wish = SH_COMMAND_HELP;
    struct sh_error err = {0};
    int argc = 0;
    *typed = (struct typed){.argv = {NULL}};
    /* getopt wants words that are not const; it reorders them and changes none */
    memcpy(&typed->argv[argc++], &command->name, sizeof typed->argv[0]);
    for (size_t i = 0; words[i] != NULL; i++) {
        assert_true(i < TYPED_WORDS_MAX);
        memcpy(&typed->argv[argc++], &words[i], sizeof typed->argv[0]);
    }
    if (sh_command_parse(command, argc, typed->argv, &typed->line, &wish, &err) != SH_OK) {
        fail_msg("%s: %s", err.where, err.what);
    }
    assert_int_equal(wish, SH_COMMAND_RUN);
}
