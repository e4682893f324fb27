/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_RECORDING_MARK_JSON_H
#define SH_RECORDING_MARK_JSON_H

#include "recording/json_cursor.h"
#include "recording/json_put.h"
#include "recording/mark.h"

/*
 * One entry of "marks" in recording.json, both ways. Test: tests/recording/test_mark_json.c.
 */

/*
 * Reads a mark from object, where the cursor stands. Kinds this version does not know become
 * SH_MARK_OTHER and only their t_s is read. Failures are kept in the cursor, so also where a
 * key is missing without which the kind says nothing, and where a limit names a finger or a
 * span (per) that nobody could watch. kept becomes 0.
 */
void sh_mark_json_parse(struct sh_json_cursor *cursor,
                        const json_t *object,
                        struct sh_mark *mark);

/*
 * Writes a mark into object: empty for a new one, or what the mark was read from.
 * SH_ERR_ARGUMENT, kept in put, for SH_MARK_OTHER in an object without a kind.
 */
void sh_mark_json_format(struct sh_json_put *put, json_t *object, const struct sh_mark *mark);

#endif
