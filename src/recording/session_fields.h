/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_RECORDING_SESSION_FIELDS_H
#define SH_RECORDING_SESSION_FIELDS_H

#include "recording/json_cursor.h"
#include "recording/json_put.h"
#include "recording/session.h"

/*
 * What recording.json says about the session as a whole (who, when, where, with which bow and
 * tags), both ways. Test: tests/recording/test_session_json.c.
 */

/* Reads it from the tree's root; failures are kept in the cursor. */
void sh_session_fields_parse(struct sh_json_cursor *cursor,
                             const json_t *root,
                             struct sh_session *session);

/* Writes it into the tree's root. */
void sh_session_fields_format(struct sh_json_put *put,
                              json_t *root,
                              const struct sh_session *session);

#endif
