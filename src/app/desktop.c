/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/desktop.h"

#include <fcntl.h>
#include <spawn.h>
#include <stdlib.h>
#include <string.h>
#include <sys/types.h>
#include <unistd.h>

/* What POSIX passes on to other programs, declared in no header. */
/* NOLINTNEXTLINE(cppcoreguidelines-avoid-non-const-global-variables) */
extern char **environ;

static bool is_set(const char *name)
{
    const char *value = getenv(name);
    return value != NULL && value[0] != '\0';
}

bool sh_desktop_open(const char *address)
{
    char program[] = "xdg-open";
    char *copy = strdup(address);
    char *words[] = {program, copy, NULL};
    posix_spawn_file_actions_t actions;
    pid_t pid = 0;
    bool is_started = false;
    if (copy == NULL || !(is_set("DISPLAY") || is_set("WAYLAND_DISPLAY")) ||
        posix_spawn_file_actions_init(&actions) != 0) {
        free(copy);
        return false;
    }
    if (posix_spawn_file_actions_addopen(&actions, STDOUT_FILENO, "/dev/null", O_WRONLY, 0) ==
            0 &&
        posix_spawn_file_actions_addopen(&actions, STDERR_FILENO, "/dev/null", O_WRONLY, 0) ==
            0) {
        is_started = posix_spawnp(&pid, program, &actions, NULL, words, environ) == 0;
    }
    (void)posix_spawn_file_actions_destroy(&actions);
    free(copy);
    return is_started;
}
