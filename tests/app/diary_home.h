/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_TESTS_APP_DIARY_HOME_H
#define SH_TESTS_APP_DIARY_HOME_H

#include "recording/mark.h"
#include "recording/person.h"
#include "recording/scratch.h"

/*
 * A home folder of a test: simulated recordings on chosen days, people's files. All fail the
 * running test where they cannot.
 */

/* Makes recordings/ and people/ in an open scratch folder. */
void diary_home_make(const struct scratch *home);

struct diary_home_recording {
    const char *name; /* of the folder */
    const char *athlete;
    const char *started; /* "2026-05-14T09:30:00.000Z" */
    int utc_offset_min;
    const char *session; /* "" where NULL */
    const char *set;     /* of channels; fingers where NULL */
    size_t n_draws;
    uint64_t seed;
    const struct sh_mark *marks; /* [n_marks], added */
    size_t n_marks;
};

/* Writes a recording into the home's recordings/. */
void diary_home_record(const struct scratch *home,
                       const struct diary_home_recording *recording);

/* Writes a person's file. */
void diary_home_write_person(const struct scratch *home, const struct sh_person *person);

#endif
