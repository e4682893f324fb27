/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_TESTS_RECORDING_SCRATCH_H
#define SH_TESTS_RECORDING_SCRATCH_H

#include <stdbool.h>
#include <stddef.h>

/*
 * A folder of a test's own, and the files in it. All fail the running test where they cannot.
 */

#define SCRATCH_PATH_BYTES 512u

struct scratch {
    char folder[SCRATCH_PATH_BYTES];
};

/* Makes an empty folder below TMPDIR (or /tmp). */
void scratch_open(struct scratch *scratch);

/* Removes the folder with all that is in it. */
void scratch_close(struct scratch *scratch);

/* cmocka's set-up and tear-down around a test, or all of them: *state is a struct scratch. */
int scratch_set_up(void **state);
int scratch_tear_down(void **state);

/* Path of a name in the folder. */
void scratch_path(const struct scratch *scratch,
                  const char *name,
                  char path[SCRATCH_PATH_BYTES]);

/* Writes a file; reads one whole (NUL-terminated, the caller frees it). n_bytes may be NULL. */
void scratch_write(const char *path, const char *bytes, size_t n_bytes);
char *scratch_read(const char *path, size_t *n_bytes);

bool scratch_exists(const char *path);

#endif
