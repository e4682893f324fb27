/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_TESTS_APP_TWO_PROFILES_H
#define SH_TESTS_APP_TWO_PROFILES_H

#include "recording/scratch.h"

/*
 * The profiles of a string's sensor, which names its port (/dev/kiln), and of a bow's, which
 * names none: as text, and as files of a folder.
 */

extern const char two_profiles_string[];
extern const char two_profiles_bow[];

struct two_profiles {
    struct scratch scratch;
    char string[SCRATCH_PATH_BYTES];
    char bow[SCRATCH_PATH_BYTES];
};

/* Makes the folder with both files; fails the running test where it cannot. */
void two_profiles_open(struct two_profiles *profiles);
void two_profiles_close(struct two_profiles *profiles);

#endif
