/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_LIMIT_ENTRY_H
#define SH_APP_LIMIT_ENTRY_H

#include "app/command.h"
#include "app/person_file.h"

/*
 * What `limits` is asked to change in a person's file: a limit that is set, one that ends, a
 * confirmation that planned steps go on.
 */

enum sh_limit_entry_kind {
    SH_LIMIT_ENTRY_NONE, /* only look */
    SH_LIMIT_ENTRY_SET,
    SH_LIMIT_ENTRY_END,
    SH_LIMIT_ENTRY_CONFIRM
};

struct sh_limit_entry {
    enum sh_limit_entry_kind kind;
    struct sh_person_limit limit;               /* set */
    size_t number;                              /* end: its number, from 1 on */
    struct sh_person_confirmation confirmation; /* confirm */
    int day;                                    /* --on: set, ended, confirmed on that day */
};

/* The options, for command_limits's table. */
#define SH_LIMIT_ENTRY_OPTIONS 14u
extern const struct sh_command_option sh_limit_entry_options[SH_LIMIT_ENTRY_OPTIONS];

/*
 * Reads a parsed command line. A limit that nobody could watch (finding/limit_kind.h) is
 * refused, and so are options that do not go together. SH_ERR_ARGUMENT.
 * Test: tests/app/test_limit_entry.c, of all of this file.
 */
enum sh_status sh_limit_entry_read(const struct sh_command *command,
                                   const struct sh_command_line *line,
                                   struct sh_limit_entry *out,
                                   struct sh_error *err);

/* The change of a person's file that an entry asks for; keeps it. SH_ERR_NOT_FOUND: no limit of
 * that number. SH_ERR_MEMORY. */
struct sh_person_file_change sh_limit_entry_make_change(struct sh_limit_entry *entry);

#endif
