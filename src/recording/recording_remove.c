/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "recording/recording_remove.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "recording/atomic_file.h"
#include "recording/folder_lock.h"
#include "recording/session_json.h"

/* A folder being looked at or emptied. */
struct job {
    const char *folder;
    int fd;
    int lock;
    struct sh_session session;
    struct sh_recording_remove_size *size;
    bool is_removing;
    struct sh_error *err;
};

static enum sh_status fail(const struct job *job, const char *name, const char *what)
{
    const int os_error = errno;
    char where[SH_ERROR_WHERE_BYTES];
    (void)snprintf(where, sizeof where, "%.300s/%.200s", job->folder, name);
    return sh_error_set_os(job->err, os_error, where, "check who may write there", "%s", what);
}

static bool has_ending(const char *name, size_t n_bytes, const char *ending)
{
    const size_t n = strlen(ending);
    return n_bytes > n && strncmp(name + n_bytes - n, ending, n) == 0;
}

/* The bytes of a name before what a rewrite (".new") or a repair (".damaged") puts behind it.
 */
static size_t get_plain_bytes(const char *name)
{
    static const char *const endings[] = {".new", ".damaged"};
    size_t n_bytes = strlen(name);
    for (size_t i = 0; i < 2; i++) {
        if (has_ending(name, n_bytes, endings[i])) {
            n_bytes -= strlen(endings[i]);
        }
    }
    return n_bytes;
}

/* Without the ending of the sound formats that a capture writes. */
static size_t get_stem_bytes(const char *name, size_t n_bytes)
{
    return has_ending(name, n_bytes, ".wav")    ? n_bytes - strlen(".wav")
           : has_ending(name, n_bytes, ".flac") ? n_bytes - strlen(".flac")
                                                : n_bytes;
}

static bool is_same(const char *a, size_t n_a, const char *b, size_t n_b)
{
    return n_a == n_b && strncmp(a, b, n_a) == 0;
}

static bool is_of_stream(const char *name, size_t n_bytes, const char *file)
{
    const size_t n_file = strlen(file);
    return is_same(name, n_bytes, file, n_file) ||
           (get_stem_bytes(name, n_bytes) < n_bytes &&
            is_same(name, get_stem_bytes(name, n_bytes), file, get_stem_bytes(file, n_file)));
}

/* Is this one of the recording's own files, by its name? */
static bool is_own(const struct sh_session *session, const char *name)
{
    static const char *const fixed[] = {SH_SESSION_JSON_FILE, "analysis.json", "truth.json"};
    const size_t n_bytes = get_plain_bytes(name);
    bool is_one = false;
    for (size_t i = 0; i < sizeof fixed / sizeof fixed[0]; i++) {
        is_one = is_one || is_same(name, n_bytes, fixed[i], strlen(fixed[i]));
    }
    for (size_t i = 0; i < session->n_streams && !is_one; i++) {
        is_one = is_of_stream(name, n_bytes, session->streams[i].file);
    }
    return is_one;
}

static enum sh_status open_job(struct job *job)
{
    struct stat file;
    job->fd = open(job->folder, O_RDONLY | O_DIRECTORY | O_NOFOLLOW | O_CLOEXEC);
    if (job->fd < 0 && (errno == ELOOP || errno == ENOTDIR)) {
        return sh_error_set(job->err, SH_ERR_FORMAT, job->folder, "remove it by hand",
                            "this is no folder of its own");
    }
    if (job->fd < 0) {
        return sh_error_set_os(job->err, errno, job->folder, "name the folder of a recording",
                               "cannot open the folder");
    }
    if (fstatat(job->fd, SH_SESSION_JSON_FILE, &file, AT_SYMLINK_NOFOLLOW) != 0) {
        return fail(job, SH_SESSION_JSON_FILE, "cannot be read");
    }
    if (!S_ISREG(file.st_mode)) {
        return sh_error_set(job->err, SH_ERR_FORMAT, job->folder, "remove it by hand",
                            "its " SH_SESSION_JSON_FILE " is a link or no file");
    }
    const enum sh_status status =
        sh_session_json_read(job->folder, &job->session, NULL, job->err);
    if (status == SH_OK) {
        (void)snprintf(job->size->athlete, sizeof job->size->athlete, "%s",
                       job->session.athlete);
    }
    return status;
}

static void close_job(struct job *job)
{
    sh_session_close(&job->session);
    sh_folder_lock_drop(&job->lock);
    if (job->fd >= 0) {
        (void)close(job->fd);
    }
}

static void note_other(struct sh_recording_remove_size *size, const char *name)
{
    if (size->n_others++ == 0 || strcmp(name, size->other) < 0) {
        (void)snprintf(size->other, sizeof size->other, "%s", name);
    }
}

/* One name in the folder: counted, and removed unless it is to go last. */
static enum sh_status take_name(struct job *job, const char *name)
{
    struct stat file;
    if (fstatat(job->fd, name, &file, AT_SYMLINK_NOFOLLOW) != 0) {
        return errno == ENOENT ? SH_OK : fail(job, name, "cannot be looked at");
    }
    if (!is_own(&job->session, name) || !(S_ISREG(file.st_mode) || S_ISLNK(file.st_mode))) {
        note_other(job->size, name);
        return SH_OK;
    }
    job->size->n_files++;
    job->size->n_bytes += (uint64_t)file.st_size;
    if (!job->is_removing || strcmp(name, SH_SESSION_JSON_FILE) == 0) {
        return SH_OK;
    }
    return unlinkat(job->fd, name, 0) == 0 || errno == ENOENT
               ? SH_OK
               : fail(job, name, "cannot be removed");
}

static enum sh_status walk(struct job *job)
{
    enum sh_status status = SH_OK;
    const int copy = openat(job->fd, ".", O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    DIR *names = copy >= 0 ? fdopendir(copy) : NULL;
    if (names == NULL) {
        status = fail(job, ".", "cannot be listed");
        if (copy >= 0) {
            (void)close(copy);
        }
        return status;
    }
    for (const struct dirent *entry = readdir(names); entry != NULL && status == SH_OK;
         entry = readdir(names)) {
        if (strcmp(entry->d_name, ".") != 0 && strcmp(entry->d_name, "..") != 0) {
            status = take_name(job, entry->d_name);
        }
    }
    (void)closedir(names);
    return status;
}

/* All others are gone: the file that says whose it is, and the folder where it is empty. */
static enum sh_status remove_last(struct job *job)
{
    if (fsync(job->fd) != 0) {
        return fail(job, ".", "cannot be synced");
    }
    if (unlinkat(job->fd, SH_SESSION_JSON_FILE, 0) != 0) {
        return fail(job, SH_SESSION_JSON_FILE, "cannot be removed");
    }
    if (job->size->n_others == 0 && rmdir(job->folder) != 0) {
        return fail(job, ".", "the empty folder cannot be removed");
    }
    return sh_atomic_file_sync_folder(job->folder, job->err);
}

static struct job
begin(const char *folder, struct sh_recording_remove_size *size, struct sh_error *err)
{
    *size = (struct sh_recording_remove_size){0};
    return (struct job){
        .folder = folder, .fd = -1, .lock = SH_FOLDER_LOCK_NONE, .size = size, .err = err};
}

enum sh_status sh_recording_remove_measure(const char *folder,
                                           struct sh_recording_remove_size *size,
                                           struct sh_error *err)
{
    struct job job = begin(folder, size, err);
    enum sh_status status = open_job(&job);
    if (status == SH_OK) {
        status = walk(&job);
    }
    close_job(&job);
    return status;
}

enum sh_status sh_recording_remove_run(const char *folder,
                                       const char *athlete,
                                       struct sh_recording_remove_size *size,
                                       struct sh_error *err)
{
    struct job job = begin(folder, size, err);
    job.is_removing = true;
    enum sh_status status = open_job(&job);
    if (status == SH_OK && strcmp(job.session.athlete, athlete) != 0) {
        status = sh_error_set(err, SH_ERR_ARGUMENT, folder, NULL,
                              "this recording is of another athlete");
    }
    if (status == SH_OK) {
        status = sh_folder_lock_take(folder, &job.lock, err);
    }
    if (status == SH_OK) {
        status = walk(&job);
    }
    if (status == SH_OK) {
        status = remove_last(&job);
    }
    close_job(&job);
    return status;
}
