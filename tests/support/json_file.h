/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_TESTS_SUPPORT_JSON_FILE_H
#define SH_TESTS_SUPPORT_JSON_FILE_H

#include <jansson.h>

/*
 * A file of JSON that a test looks into or changes. All fail the running test where they
 * cannot.
 */

/* Reads a file, or one of a folder; the caller gives it back. */
json_t *json_file_load(const char *path);
json_t *json_file_load_in(const char *folder, const char *name);

/* Writes a folder's file anew, and gives root back. */
void json_file_store_in(const char *folder, const char *name, json_t *root);

#endif
