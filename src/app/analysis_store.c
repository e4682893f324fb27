/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/analysis_store.h"

#include <dirent.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>

#include "app/home.h"
#include "app/passes.h"
#include "recording/atomic_file.h"
#include "report/analysis_json.h"
#include "report/analysis_parse.h"

/* The path of a file of folder; false where it does not fit. */
static bool format_path(const char *folder, const char *file, char path[SH_HOME_PATH_BYTES])
{
    const int n = snprintf(path, SH_HOME_PATH_BYTES, "%s/%s", folder, file);
    return n >= 0 && (size_t)n < SH_HOME_PATH_BYTES;
}

enum sh_status sh_analysis_store_write(const char *folder,
                                       const struct sh_analysis *analysis,
                                       struct sh_error *err)
{
    char path[SH_HOME_PATH_BYTES];
    if (!format_path(folder, SH_ANALYSIS_STORE_FILE, path)) {
        return sh_error_set(err, SH_ERR_ARGUMENT, folder, NULL, "the path is too long");
    }
    struct sh_text text;
    sh_text_init(&text, 0);
    enum sh_status status = sh_analysis_json_write(analysis, &text);
    if (status != SH_OK) {
        (void)sh_error_set(err, status, path, NULL, "the analysis does not fit into memory");
    } else {
        status = sh_atomic_file_write(path, text.data, text.n_bytes, err);
    }
    sh_text_close(&text);
    return status;
}

static bool is_later(const struct timespec *one, const struct timespec *other)
{
    return one->tv_sec > other->tv_sec ||
           (one->tv_sec == other->tv_sec && one->tv_nsec > other->tv_nsec);
}

/* Whether a file of the folder is younger than the time. */
static bool has_younger(const char *folder, const struct timespec *than)
{
    DIR *open = opendir(folder);
    if (open == NULL) {
        return true;
    }
    bool is_younger = false;
    for (struct dirent *entry = readdir(open); entry != NULL && !is_younger;
         entry = readdir(open)) {
        char path[SH_HOME_PATH_BYTES];
        struct stat file;
        if (format_path(folder, entry->d_name, path) && stat(path, &file) == 0 &&
            S_ISREG(file.st_mode)) {
            is_younger = is_later(&file.st_mtim, than);
        }
    }
    (void)closedir(open);
    return is_younger;
}

bool sh_analysis_store_is_fresh(const char *folder)
{
    char path[SH_HOME_PATH_BYTES];
    struct stat file;
    return format_path(folder, SH_ANALYSIS_STORE_FILE, path) && stat(path, &file) == 0 &&
           S_ISREG(file.st_mode) && !has_younger(folder, &file.st_mtim);
}

enum sh_status sh_analysis_store_get(const char *folder,
                                     const struct sh_thresholds *thresholds,
                                     struct sh_analysis *out,
                                     struct sh_error *err)
{
    char path[SH_HOME_PATH_BYTES];
    struct sh_error unread = {0}; /* a file that cannot be used is no failure */
    if (sh_analysis_store_is_fresh(folder) &&
        format_path(folder, SH_ANALYSIS_STORE_FILE, path) &&
        sh_analysis_parse_file(path, out, &unread) == SH_OK) {
        /* the folder may have been renamed since */
        sh_home_copy_name(folder, out->recording, sizeof out->recording);
        return SH_OK;
    }
    const struct sh_passes_config config = {.thresholds = thresholds};
    return sh_passes_run(folder, &config, out, err);
}
