/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_GOAL_ENTRY_H
#define SH_APP_GOAL_ENTRY_H

#include "app/command.h"
#include "app/person_file.h"

/*
 * What `goals` is asked to change in a person's file: a band that is set, one to be taken from
 * the best arrows, or none any more. Test of all: tests/app/test_goal_entry.c.
 */
enum sh_goal_entry_kind {
    SH_GOAL_ENTRY_NONE, /* only look */
    SH_GOAL_ENTRY_SET,
    SH_GOAL_ENTRY_FROM_BEST,
    SH_GOAL_ENTRY_CLEAR
};

struct sh_goal_entry {
    enum sh_goal_entry_kind kind;
    struct sh_person_goal goal; /* of FROM_BEST without band, arrows: to be filled */
    int day;                    /* --on */
};

/* The options, for command_goals's table. */
#define SH_GOAL_ENTRY_OPTIONS 7u
extern const struct sh_command_option sh_goal_entry_options[SH_GOAL_ENTRY_OPTIONS];

/* Reads a parsed command line. SH_ERR_ARGUMENT: a band that is none, options that do not go
 * together. */
enum sh_status sh_goal_entry_read(const struct sh_command *command,
                                  const struct sh_command_line *line,
                                  struct sh_goal_entry *out,
                                  struct sh_error *err);

/*
 * The change of a person's file that an entry asks for; keeps it. The goal in force ends on the
 * entry's day and stays in the file. SH_ERR_NOT_FOUND: there is none to end. SH_ERR_MEMORY,
 * SH_ERR_FULL.
 */
struct sh_person_file_change sh_goal_entry_make_change(struct sh_goal_entry *entry);

#endif
