/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_COMMANDS_H
#define SH_APP_COMMANDS_H

#include "app/command.h"

/*
 * The program's commands, one file each (command_NAME.c).
 */
extern const struct sh_command sh_command_analyze;
extern const struct sh_command sh_command_calibrate;
extern const struct sh_command sh_command_capture;
extern const struct sh_command sh_command_export;
extern const struct sh_command sh_command_history;
extern const struct sh_command sh_command_inspect;
extern const struct sh_command sh_command_limits;
extern const struct sh_command sh_command_load;
extern const struct sh_command sh_command_ports;
extern const struct sh_command sh_command_repair;
extern const struct sh_command sh_command_report;
extern const struct sh_command sh_command_simulate;

#endif
