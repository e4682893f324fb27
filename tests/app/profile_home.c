/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/profile_home.h"

#include <stdio.h>
#include <string.h>
#include <sys/stat.h>

#include "support/cmocka_all.h"

void profile_home_open(struct profile_home *home)
{
    char path[SCRATCH_PATH_BYTES];
    *home = (struct profile_home){.setup = {.n_sensors = 0}};
    scratch_open(&home->scratch);
    (void)snprintf(home->setup.home, sizeof home->setup.home, "%s", home->scratch.folder);
    scratch_path(&home->scratch, "sensors", path);
    assert_int_equal(mkdir(path, 0700), 0);
}

void profile_home_close(struct profile_home *home)
{
    scratch_close(&home->scratch);
}

void profile_home_write(const struct profile_home *home, const char *name, const char *text)
{
    char path[SCRATCH_PATH_BYTES];
    scratch_path(&home->scratch, name, path);
    scratch_write(path, text, strlen(text));
}
