/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_RECORDING_ATOMIC_FILE_H
#define SH_RECORDING_ATOMIC_FILE_H

#include <stddef.h>

#include "base/status.h"

/*
 * Files that are replaced whole, and names that survive a loss of power.
 */

/*
 * Replaces a file whole: writes path with ".new" appended, syncs it, renames it over path and
 * syncs the folder, so that a reader (and a machine that loses power) sees the old text or the
 * new one, never a part. On a failure the old file stays and the new one is removed.
 * SH_ERR_IO, SH_ERR_PERMISSION, SH_ERR_NOT_FOUND, SH_ERR_ARGUMENT (path too long).
 * One writer a path at a time. Cost: two syncs. Test: tests/recording/test_atomic_file.c.
 */
enum sh_status
sh_atomic_file_write(const char *path, const char *bytes, size_t n_bytes, struct sh_error *err);

/*
 * Syncs the folder that holds path, so that a name made, renamed or removed in it stays so.
 * The same statuses.
 */
enum sh_status sh_atomic_file_sync_folder(const char *path, struct sh_error *err);

#endif
