/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/take_folder.h"

#include <stdbool.h>
#include <stdio.h>
#include <sys/stat.h>

#define NUMBER_MAX   1000u
#define NUMBER_BYTES 8u /* "-1000" */
#define FOLDER_NAME_BYTES                                                                      \
    (256u - NUMBER_BYTES) /* most file systems' limit, a number's room left */

static bool is_there(const char *path)
{
    struct stat found;
    return lstat(path, &found) == 0;
}

/* n_bytes as snprintf gave it for a path. */
static enum sh_status check_length(int n_bytes, const char *where, struct sh_error *err)
{
    if (n_bytes < 0 || (size_t)n_bytes >= SH_HOME_PATH_BYTES) {
        return sh_error_set(err, SH_ERR_FULL, where, "take a shorter path", "path too long");
    }
    return SH_OK;
}

/* base, or base-N with the first free N from number on; 0 and 1 stand for base itself. */
static enum sh_status
find_free(const char *base, size_t number, char path[SH_HOME_PATH_BYTES], struct sh_error *err)
{
    for (size_t i = number; i <= NUMBER_MAX; i++) {
        int n_bytes = i < 2 ? snprintf(path, SH_HOME_PATH_BYTES, "%s", base)
                            : snprintf(path, SH_HOME_PATH_BYTES, "%s-%zu", base, i);
        enum sh_status status = check_length(n_bytes, base, err);
        if (status != SH_OK || !is_there(path)) {
            return status;
        }
    }
    return sh_error_set(err, SH_ERR_FULL, base, "take another --out or --home",
                        "a thousand recordings of this name");
}

static enum sh_status choose_given(const struct sh_take_folder_config *config,
                                   char path[SH_HOME_PATH_BYTES],
                                   struct sh_error *err)
{
    if (config->n_before == 0 && is_there(config->out)) {
        return sh_error_set(err, SH_ERR_EXISTS, config->out, "give --out a new folder",
                            "there is one of this name already");
    }
    return find_free(config->out, config->n_before + 1, path, err);
}

enum sh_status sh_take_folder_choose(const struct sh_take_folder_config *config,
                                     char path[SH_HOME_PATH_BYTES],
                                     struct sh_error *err)
{
    char folder[SH_HOME_PATH_BYTES];
    char base[SH_HOME_PATH_BYTES];
    char name[FOLDER_NAME_BYTES];
    if (config->out != NULL) {
        return choose_given(config, path, err);
    }
    int n_bytes = snprintf(folder, sizeof folder, "%s/recordings", config->home);
    enum sh_status status = check_length(n_bytes, config->home, err);
    status = status == SH_OK ? sh_home_make_folder(folder, err) : status;
    if (status != SH_OK) {
        return status;
    }
    if (sh_home_format_recording(&config->local, config->athlete, name, sizeof name) != SH_OK) {
        (void)sh_home_format_recording(&config->local, "", name, sizeof name);
    }
    n_bytes = snprintf(base, sizeof base, "%s/%s", folder, name);
    status = check_length(n_bytes, config->home, err);
    return status == SH_OK ? find_free(base, 1, path, err) : status;
}
