/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/commands.h"

const struct sh_command *const sh_commands[SH_COMMANDS_COUNT] = {
#define X(name) &sh_command_##name,
    SH_COMMANDS_LIST(X)
#undef X
};
