/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/in_charge.h"

#include <stdio.h>
#include <string.h>
#include <unistd.h>

#define OATH "I am in charge of this line"

enum sh_status sh_in_charge_ask(const char *where, const char *option, struct sh_error *err)
{
    char typed[128] = "";
    char todo[SH_ERROR_TODO_BYTES];
    if (isatty(STDIN_FILENO) != 0) {
        (void)fputs("Signals tell all on the line when to shoot. Only the person in charge\n"
                    "gives them; the emergency signal is never given from here.\n"
                    "To switch them on type: " OATH "\n> ",
                    stderr);
        (void)fflush(stderr);
        if (fgets(typed, sizeof typed, stdin) != NULL) {
            typed[strcspn(typed, "\n")] = '\0';
        }
    }
    if (strcmp(typed, OATH) == 0) {
        return SH_OK;
    }
    (void)snprintf(todo, sizeof todo, "start without %s, or type it at a terminal", option);
    return sh_error_set(err, SH_ERR_ARGUMENT, where, todo, "'" OATH "' was not typed");
}
