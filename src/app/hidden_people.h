/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_HIDDEN_PEOPLE_H
#define SH_APP_HIDDEN_PEOPLE_H

#include <stdbool.h>
#include <stddef.h>

#include "recording/person.h"

/*
 * Who of a home is hidden, by the mark in the people's files (hidden_on); each file is read
 * once. Test of all: tests/app/test_hidden_people.c.
 */
struct sh_hidden_person {
    char name[SH_SESSION_NAME_BYTES];
    bool is_hidden;
};

struct sh_hidden_people {
    const char *home;               /* kept */
    struct sh_hidden_person *known; /* owned: whose files have been read */
    size_t n;
};

/* Of a home; nothing is read yet. To be closed. */
struct sh_hidden_people sh_hidden_people_open(const char *home);

/* Frees what it owns and zeroes it. */
void sh_hidden_people_close(struct sh_hidden_people *people);

/*
 * Is the athlete hidden? Nobody ("") and people without a file are not. Statuses of
 * sh_person_json_read: a file that cannot be read does not say, and *is_hidden is true.
 */
enum sh_status sh_hidden_people_find(struct sh_hidden_people *people,
                                     const char *athlete,
                                     bool *is_hidden,
                                     struct sh_error *err);

/* SH_ERR_NOT_FOUND with a line for people where the athlete is hidden. Else as above. */
enum sh_status
sh_hidden_people_check(const char *home, const char *athlete, struct sh_error *err);

#endif
