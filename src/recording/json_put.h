/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_RECORDING_JSON_PUT_H
#define SH_RECORDING_JSON_PUT_H

#include <jansson.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/status.h"
#include "base/text.h"

/*
 * Writes values into a JSON tree, touching only what changes: a key whose value is already
 * right stays as it was written, and keys nobody names stay. The first failure is kept in
 * status and all later calls do nothing, so that only the end has to be checked. Objects and
 * lists may be NULL after a failure. Any thread, one tree each.
 * Test: tests/recording/test_json_put.c.
 */
struct sh_json_put {
    enum sh_status status; /* SH_OK, SH_ERR_MEMORY, SH_ERR_NOT_FINITE, SH_ERR_FORMAT, ... */
    const char *key;       /* where it failed, for a message; kept */
};

/* Records a failure at key, unless there was one before. */
void sh_json_put_fail(struct sh_json_put *put, enum sh_status status, const char *key);

/*
 * A number, as an integer where it is whole and below 2^53, else as a real of the same bits.
 * SH_ERR_NOT_FINITE for infinity and NaN.
 */
void sh_json_put_number(struct sh_json_put *put, json_t *object, const char *key, double value);

/* A number that is known, as above; else null. */
void sh_json_put_known(
    struct sh_json_put *put, json_t *object, const char *key, bool is_known, double value);

/* A count; SH_ERR_ARGUMENT above 2^63 - 1. */
void sh_json_put_count(struct sh_json_put *put,
                       json_t *object,
                       const char *key,
                       uint64_t value);

/* A text. SH_ERR_FORMAT where it is not UTF-8. */
void sh_json_put_text(struct sh_json_put *put,
                      json_t *object,
                      const char *key,
                      const char *value);

/* Sets a key to a value that is taken (NULL stands for out of memory). */
void sh_json_put_value(struct sh_json_put *put, json_t *object, const char *key, json_t *value);

/* Removes a key; a null stays. */
void sh_json_put_nothing(struct sh_json_put *put, json_t *object, const char *key);

/* A list of n numbers. */
void sh_json_put_numbers(
    struct sh_json_put *put, json_t *object, const char *key, const double *values, size_t n);

/* The object or the list at a key, an empty one where there is none; borrowed from the tree. */
json_t *sh_json_put_object(struct sh_json_put *put, json_t *object, const char *key);
json_t *sh_json_put_list(struct sh_json_put *put, json_t *object, const char *key);

/*
 * Element index of a list, appended where index is the list's length: the object there (an
 * empty one where there is none; borrowed), or a list of n numbers.
 */
json_t *sh_json_put_object_at(struct sh_json_put *put, json_t *list, size_t index);
void sh_json_put_numbers_at(
    struct sh_json_put *put, json_t *list, size_t index, const double *values, size_t n);

/*
 * Appends a finished tree and a line break to text (recording/json_text.h) and frees the tree;
 * after a failure nothing is appended, and it is text's. Returns text->status.
 */
enum sh_status
sh_json_put_finish(const struct sh_json_put *put, json_t *root, struct sh_text *text);

/* Removes the elements of a list from n on. */
void sh_json_put_trim(struct sh_json_put *put, json_t *list, size_t n);

#endif
