/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "recording/folder_lock.h"

#include <errno.h>
#include <fcntl.h>
#include <stdbool.h>
#include <sys/file.h>
#include <unistd.h>

enum sh_status sh_folder_lock_take(const char *folder, int *lock, struct sh_error *err)
{
    *lock = open(folder, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    if (*lock < 0) {
        *lock = SH_FOLDER_LOCK_NONE;
        return sh_error_set_os(err, errno, folder, "name the folder of a recording",
                               "cannot open the folder");
    }
    if (flock(*lock, LOCK_EX | LOCK_NB) == 0) {
        return SH_OK;
    }
    const bool is_held = errno == EWOULDBLOCK;
    sh_folder_lock_drop(lock);
    return is_held ? sh_error_set(err, SH_ERR_BUSY, folder, "wait until the capture has ended",
                                  "the recording is being written")
                   : SH_OK;
}

void sh_folder_lock_drop(int *lock)
{
    if (*lock != SH_FOLDER_LOCK_NONE) {
        (void)close(*lock);
    }
    *lock = SH_FOLDER_LOCK_NONE;
}
