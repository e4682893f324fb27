/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "recording/atomic_file.h"

#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

/* Answers 0, or the errno of the write that failed. */
static int write_all(int file, const char *bytes, size_t n_bytes)
{
    while (n_bytes > 0) {
        ssize_t n = write(file, bytes, n_bytes);
        if (n < 0 && errno == EINTR) {
            continue;
        }
        if (n <= 0) {
            return n < 0 ? errno : ENOSPC;
        }
        bytes += n;
        n_bytes -= (size_t)n;
    }
    return 0;
}

enum sh_status sh_atomic_file_sync_folder(const char *path, struct sh_error *err)
{
    char folder[PATH_MAX] = ".";
    const char *slash = strrchr(path, '/');
    if (slash != NULL) {
        size_t n_bytes = slash == path ? 1 : (size_t)(slash - path);
        if (n_bytes >= sizeof folder) {
            return sh_error_set(err, SH_ERR_ARGUMENT, path, NULL, "the path is too long");
        }
        memcpy(folder, path, n_bytes);
        folder[n_bytes] = '\0';
    }
    int file = open(folder, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    if (file < 0) {
        return sh_error_set_os(err, errno, folder, NULL, "the folder cannot be opened");
    }
    enum sh_status status = SH_OK;
    /* Some file systems have no sync of folders and answer EINVAL: nothing more can be done. */
    if (fsync(file) != 0 && errno != EINVAL) {
        status = sh_error_set_os(err, errno, folder, NULL, "the folder cannot be synced");
    }
    (void)close(file);
    return status;
}

/* Writes, syncs and closes; answers 0 or an errno. */
static int fill_file(int file, const char *bytes, size_t n_bytes)
{
    int failure = write_all(file, bytes, n_bytes);
    if (failure == 0 && fsync(file) != 0) {
        failure = errno;
    }
    if (close(file) != 0 && failure == 0) {
        failure = errno;
    }
    return failure;
}

enum sh_status
sh_atomic_file_write(const char *path, const char *bytes, size_t n_bytes, struct sh_error *err)
{
    char fresh[PATH_MAX];
    int n_path = snprintf(fresh, sizeof fresh, "%s.new", path);
    if (n_path < 0 || (size_t)n_path >= sizeof fresh) {
        return sh_error_set(err, SH_ERR_ARGUMENT, path, NULL, "the path is too long");
    }
    int file = open(fresh, O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0666);
    if (file < 0) {
        return sh_error_set_os(err, errno, fresh, NULL, "the file cannot be made");
    }
    enum sh_status status = SH_OK;
    int failure = fill_file(file, bytes, n_bytes);
    if (failure != 0) {
        status = sh_error_set_os(err, failure, path, "see that the disk has room",
                                 "the file cannot be written");
    } else if (rename(fresh, path) != 0) {
        status = sh_error_set_os(err, errno, path, NULL, "the file cannot be replaced");
    }
    if (status != SH_OK) {
        (void)unlink(fresh);
        return status;
    }
    return sh_atomic_file_sync_folder(path, err);
}
