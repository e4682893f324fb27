/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_RECORDING_PERSON_FIELDS_H
#define SH_RECORDING_PERSON_FIELDS_H

#include "recording/json_cursor.h"
#include "recording/json_put.h"
#include "recording/person.h"

/*
 * What a person's file says but format and name, both ways. Test:
 * tests/recording/test_person_json.c.
 */

/* Reads root into person, whose lists are empty. Failures are kept in the cursor,
 * so also where an entry says nothing that could be kept to. */
void sh_person_fields_parse(struct sh_json_cursor *cursor,
                            const json_t *root,
                            struct sh_person *person);

/* Writes all into root, which is empty or what the person was read from. */
void sh_person_fields_format(struct sh_json_put *put,
                             json_t *root,
                             const struct sh_person *person);

#endif
