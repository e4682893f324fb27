/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_TESTS_LOOP_CLUB_H
#define SH_TESTS_LOOP_CLUB_H

#include "loop/program.h"

/*
 * A home whose recordings a test simulates and asks the program about. All fail the running
 * test where they cannot.
 */

struct club {
    struct scratch scratch;
    char home[SCRATCH_PATH_BYTES];       /* "home" in the scratch folder */
    char recordings[SCRATCH_PATH_BYTES]; /* "home/recordings", empty at first */
};

void club_open(struct club *club);
void club_close(struct club *club);

/* Runs the program, as program_get_said does. */
char *club_run(const struct club *club, const char *const *words, int status);

#endif
