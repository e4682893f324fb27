/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_COMMANDS_H
#define SH_APP_COMMANDS_H

#include "app/command.h"

/*
 * The program's commands in the order in which the help names them, one file each
 * (command_NAME.c).
 */
#define SH_COMMANDS_LIST(X)                                                                    \
    X(capture)                                                                                 \
    X(live)                                                                                    \
    X(clock)                                                                                   \
    X(analyze)                                                                                 \
    X(consistency)                                                                             \
    X(compare)                                                                                 \
    X(team)                                                                                    \
    X(report)                                                                                  \
    X(review)                                                                                  \
    X(inspect)                                                                                 \
    X(calibrate)                                                                               \
    X(ports)                                                                                   \
    X(load)                                                                                    \
    X(limits)                                                                                  \
    X(goals)                                                                                   \
    X(history)                                                                                 \
    X(simulate)                                                                                \
    X(repair)                                                                                  \
    X(export)

#define X(name) extern const struct sh_command sh_command_##name;
SH_COMMANDS_LIST(X)
#undef X

enum {
#define X(name) SH_COMMANDS_##name,
    SH_COMMANDS_LIST(X)
#undef X
        SH_COMMANDS_COUNT
};

extern const struct sh_command *const sh_commands[SH_COMMANDS_COUNT];

#endif
