/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_RECORDING_SESSION_JSON_H
#define SH_RECORDING_SESSION_JSON_H

#include <stddef.h>

#include "base/text.h"
#include "recording/session.h"

/*
 * recording.json <-> struct sh_session. Keys: docs/recording-format.md. Reading is strict: what
 * is there has the right type and a value that makes sense, or the text is refused in one line
 * that names file and key ("tuesday/recording.json: streams[0].rate_hz: is not above 0").
 * Keys this version does not know are kept when the session is written back.
 * Any thread, one session each. Test: tests/recording/test_session_json.c.
 */

#define SH_SESSION_JSON_FILE      "recording.json"
#define SH_SESSION_JSON_BYTES_MAX 268435456u /* 256 MiB: some 5 million anchors */

/* The tree a session was read from, with the keys nobody knew. */
struct sh_session_json;

/*
 * Reads a text of n_bytes into session, which is all zero; name is what messages call the text.
 * Gives *kept (kept may be NULL where nothing will be written back) and the session's lists; on
 * failure session is all zero and *kept untouched.
 * SH_ERR_FORMAT, SH_ERR_UNSUPPORTED (another version), SH_ERR_MEMORY, SH_ERR_FULL (more
 * anchors, marks or gaps than a session holds). What is missing is 0, "", unknown or not given;
 * a missing scale is 0 (only channels whose file holds counts need one: see
 * recording_reader.h). No channel is is_physical yet: the audio files tell that.
 */
enum sh_status sh_session_json_parse(const char *text,
                                     size_t n_bytes,
                                     const char *name,
                                     struct sh_session *session,
                                     struct sh_session_json **kept,
                                     struct sh_error *err);

/*
 * The same from folder/recording.json. Also SH_ERR_NOT_FOUND, SH_ERR_PERMISSION, SH_ERR_IO,
 * and SH_ERR_FULL for a file over SH_SESSION_JSON_BYTES_MAX.
 */
enum sh_status sh_session_json_read(const char *folder,
                                    struct sh_session *session,
                                    struct sh_session_json **kept,
                                    struct sh_error *err);

/*
 * Appends the session as JSON to text. kept is what the session was read from, or NULL for a
 * new one; it is not changed. Streams and channels go with their old entries by place, marks by
 * their member kept, so that marks can be added, changed, moved and removed. Values that did
 * not change stay as they were written; the same session gives the same bytes.
 * SH_ERR_MEMORY, SH_ERR_FULL, SH_ERR_NOT_FINITE, SH_ERR_FORMAT (a text is not UTF-8),
 * SH_ERR_ARGUMENT (a mark of no known kind that was not read from kept): err names the key.
 */
enum sh_status sh_session_json_format(const struct sh_session *session,
                                      const struct sh_session_json *kept,
                                      struct sh_text *text,
                                      struct sh_error *err);

/*
 * The same into folder/recording.json, which is replaced whole (sh_atomic_file_write, whose
 * statuses come back too). One writer a folder at a time.
 */
enum sh_status sh_session_json_write(const char *folder,
                                     const struct sh_session *session,
                                     const struct sh_session_json *kept,
                                     struct sh_error *err);

/* Frees what reading gave and sets *kept to NULL. Takes NULL inside. */
void sh_session_json_close(struct sh_session_json **kept);

#endif
