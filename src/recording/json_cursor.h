/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_RECORDING_JSON_CURSOR_H
#define SH_RECORDING_JSON_CURSOR_H

#include <jansson.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/status.h"

/*
 * Reads typed values out of a JSON tree and remembers where it stands, so that a message can
 * name the key ("recording.json: streams[0].rate_hz"). The first failure is kept in status and
 * in err; later reads then find nothing, so that callers check once, at the end.
 * A key whose value is null counts as missing. Cost: a hash look-up a key. Any thread, one
 * cursor each. Test: tests/recording/test_json_cursor.c.
 */

#define SH_JSON_CURSOR_PATH_BYTES 256u /* longer paths are cut in messages */

struct sh_json_cursor {
    const char *file;      /* kept: what messages call the text */
    struct sh_error *err;  /* kept; may be NULL */
    enum sh_status status; /* SH_OK, or the first failure's */
    size_t n_path_bytes;
    char path[SH_JSON_CURSOR_PATH_BYTES];
};

/* A cursor at the root, without a failure. Keeps file and err (which may be NULL). */
void sh_json_cursor_init(struct sh_json_cursor *cursor, const char *file, struct sh_error *err);

/*
 * Steps into a key, or into an element of a list; gives what sh_json_cursor_leave wants to step
 * back out.
 */
size_t sh_json_cursor_enter(struct sh_json_cursor *cursor, const char *key);
size_t sh_json_cursor_enter_index(struct sh_json_cursor *cursor, size_t index);
void sh_json_cursor_leave(struct sh_json_cursor *cursor, size_t n_path_bytes);

/*
 * Records a failure at key (NULL: where the cursor stands), unless there was one before.
 * what is plain text, no format; todo may be NULL.
 */
void sh_json_cursor_fail(struct sh_json_cursor *cursor,
                         enum sh_status status,
                         const char *key,
                         const char *what,
                         const char *todo);

/*
 * Each sets *out and answers true where object holds key with the right type; answers false and
 * leaves *out where the key is missing, or (failing with SH_ERR_FORMAT) of another type or out
 * of range. A text that does not fit out_bytes fails. count: a whole number, 0 or above;
 * integer: one from -limit to limit. What array and object give is borrowed from the tree.
 */
bool sh_json_cursor_number(struct sh_json_cursor *cursor,
                           const json_t *object,
                           const char *key,
                           double *out);
bool sh_json_cursor_count(struct sh_json_cursor *cursor,
                          const json_t *object,
                          const char *key,
                          uint64_t *out);
bool sh_json_cursor_integer(
    struct sh_json_cursor *cursor, const json_t *object, const char *key, int limit, int *out);
bool sh_json_cursor_bool(struct sh_json_cursor *cursor,
                         const json_t *object,
                         const char *key,
                         bool *out);
bool sh_json_cursor_text(struct sh_json_cursor *cursor,
                         const json_t *object,
                         const char *key,
                         char *out,
                         size_t out_bytes);
bool sh_json_cursor_array(struct sh_json_cursor *cursor,
                          const json_t *object,
                          const char *key,
                          const json_t **out);
bool sh_json_cursor_object(struct sh_json_cursor *cursor,
                           const json_t *object,
                           const char *key,
                           const json_t **out);

/*
 * Reads a list of exactly n_out numbers into out[n_out]; false and SH_ERR_FORMAT where array is
 * anything else. false, without a look, after an earlier failure.
 */
bool sh_json_cursor_tuple(struct sh_json_cursor *cursor,
                          const json_t *array,
                          double *out,
                          size_t n_out);

/* Fails with "is missing" unless was_found. */
void sh_json_cursor_need(struct sh_json_cursor *cursor, bool was_found, const char *key);

#endif
