/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_PERSON_FILE_H
#define SH_APP_PERSON_FILE_H

#include "recording/person.h"

/* What is done to a person between reading and writing: SH_OK, or a status with a line in err,
 * and nothing is written. */
struct sh_person_file_change {
    enum sh_status (*apply)(void *context, struct sh_person *person, struct sh_error *err);
    void *context;
};

/*
 * Reads the file of name in home (none: a person of whom nothing is known), applies a change
 * and writes it back whole; makes home/people/ where it is not there. Statuses of
 * sh_person_json_read, sh_home_make_folder, sh_person_json_write, and the change's.
 * Test: tests/app/test_person_file.c.
 */
enum sh_status sh_person_file_edit(const char *home,
                                   const char *name,
                                   const struct sh_person_file_change *change,
                                   struct sh_error *err);

#endif
