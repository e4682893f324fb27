/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/end_signal.h"

#include <string.h>

/* A signal handler can reach nothing else. */
/* NOLINTNEXTLINE(cppcoreguidelines-avoid-non-const-global-variables) */
static volatile sig_atomic_t has_come;

static void note(int number)
{
    (void)number;
    has_come = 1;
}

const volatile sig_atomic_t *sh_end_signal_catch(void)
{
    struct sigaction action;
    memset(&action, 0, sizeof action);
    action.sa_handler = note;
    (void)sigaction(SIGINT, &action, NULL);
    (void)sigaction(SIGTERM, &action, NULL);
    (void)sigaction(SIGHUP, &action, NULL);
    return &has_come;
}
