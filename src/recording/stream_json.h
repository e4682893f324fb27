/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_RECORDING_STREAM_JSON_H
#define SH_RECORDING_STREAM_JSON_H

#include "recording/json_cursor.h"
#include "recording/json_put.h"
#include "recording/session.h"

/*
 * One entry of "streams" in recording.json, both ways: channels, crosstalk, clock, gaps and
 * frame counts. Test: tests/recording/test_stream_json.c.
 */

/*
 * Reads a stream from object, where the cursor stands, into streams[index] of a session, of
 * which n_streams is index + 1 and the stream all zero. Failures are kept in the cursor; what
 * the stream owns by then is the session's to close.
 */
void sh_stream_json_parse(struct sh_json_cursor *cursor,
                          const json_t *object,
                          struct sh_session *session,
                          size_t index);

/* Writes a stream into object: empty for a new one, or what it was read from. */
void sh_stream_json_format(struct sh_json_put *put,
                           json_t *object,
                           const struct sh_session_stream *stream);

#endif
