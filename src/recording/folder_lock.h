/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_RECORDING_FOLDER_LOCK_H
#define SH_RECORDING_FOLDER_LOCK_H

#include "base/status.h"

/*
 * One program at a time writes into a recording's folder: a capture holds the lock until it
 * ends, however it ends (flock on the folder). Reading needs no lock. Any thread.
 * Test: tests/recording/test_folder_lock.c.
 */

#define SH_FOLDER_LOCK_NONE (-1)

/*
 * Takes the lock of an existing folder; *lock is to be dropped. SH_ERR_BUSY: another holds it,
 * a capture that runs for one. SH_ERR_NOT_FOUND, SH_ERR_PERMISSION, SH_ERR_IO: the folder
 * cannot be opened. On a file system that has no locks there is none, and SH_OK. *lock is
 * SH_FOLDER_LOCK_NONE where none is held.
 */
enum sh_status sh_folder_lock_take(const char *folder, int *lock, struct sh_error *err);

/* Drops a lock and sets it to SH_FOLDER_LOCK_NONE; takes that too. */
void sh_folder_lock_drop(int *lock);

#endif
