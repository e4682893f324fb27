/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_TESTS_APP_PROFILE_HOME_H
#define SH_TESTS_APP_PROFILE_HOME_H

#include "app/capture_setup.h"
#include "recording/scratch.h"

/* A home folder with profiles of sensors. All fail the running test where they cannot. */

struct profile_home {
    struct scratch scratch;
    struct sh_capture_setup setup; /* no more than where its home is */
};

/* Makes the folder, and an empty one for sensors in it. */
void profile_home_open(struct profile_home *home);
void profile_home_close(struct profile_home *home);

/* Writes a file; those on offer are "sensors/NAME.ini". */
void profile_home_write(const struct profile_home *home, const char *name, const char *text);

#endif
