/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/analysis_store.h"

#include <stdio.h>
#include <sys/stat.h>

#include "app/home.h"
#include "app/passes.h"
#include "app/recording_content.h"
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

bool sh_analysis_store_is_fresh(const char *folder)
{
    char path[SH_HOME_PATH_BYTES];
    struct stat file;
    if (!format_path(folder, SH_ANALYSIS_STORE_FILE, path) || stat(path, &file) != 0 ||
        !S_ISREG(file.st_mode)) {
        return false;
    }
    const int64_t written_ns =
        (int64_t)file.st_mtim.tv_sec * 1000000000 + (int64_t)file.st_mtim.tv_nsec;
    return written_ns >= sh_recording_content_get_stamp_ns(folder);
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
