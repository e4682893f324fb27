/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_RECORDING_CHANNEL_JSON_H
#define SH_RECORDING_CHANNEL_JSON_H

#include "metrology/channel.h"
#include "recording/json_cursor.h"
#include "recording/json_put.h"

/*
 * One entry of "channels" in recording.json, both ways. Test:
 * tests/recording/test_channel_json.c.
 */

/*
 * Reads a channel from object, where the cursor stands. Failures are kept in the cursor: an
 * unknown role, axis or finger, or a role that lacks its own; a unit that is not the role's
 * (N, m/s2; contact and sound may have any); a scale of 0, a negative uncertainty, a range
 * whose ends are not in order, a curve that is not monotone.
 * A missing scale is left 0, a missing unit becomes the role's.
 */
void sh_channel_json_parse(struct sh_json_cursor *cursor,
                           const json_t *object,
                           struct sh_channel *channel);

/* Writes a channel into object: empty for a new one, or what it was read from. */
void sh_channel_json_format(struct sh_json_put *put,
                            json_t *object,
                            const struct sh_channel *channel);

#endif
