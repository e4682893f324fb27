/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/home.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "base/percent.h"

#define FOLDER_MODE 0700

static enum sh_status
join(const char *folder, const char *rest, char path[SH_HOME_PATH_BYTES], struct sh_error *err)
{
    int n_bytes = snprintf(path, SH_HOME_PATH_BYTES, "%s%s", folder, rest);
    if (n_bytes < 0 || (size_t)n_bytes >= SH_HOME_PATH_BYTES) {
        return sh_error_set(err, SH_ERR_FULL, folder, "give a shorter one", "path too long");
    }
    return SH_OK;
}

enum sh_status
sh_home_find(const char *given, char path[SH_HOME_PATH_BYTES], struct sh_error *err)
{
    if (given != NULL) {
        return join(given, "", path, err);
    }
    const char *data = getenv("XDG_DATA_HOME");
    if (data != NULL && data[0] == '/') {
        return join(data, "/stringhand", path, err);
    }
    const char *home = getenv("HOME");
    if (home != NULL && home[0] != '\0') {
        return join(home, "/.local/share/stringhand", path, err);
    }
    return sh_error_set(err, SH_ERR_NOT_FOUND, NULL, "give --home FOLDER",
                        "no folder for recordings: HOME is not set");
}

static enum sh_status make_one(const char *path, struct sh_error *err)
{
    if (mkdir(path, FOLDER_MODE) == 0 || errno == EEXIST) {
        return SH_OK;
    }
    return sh_error_set_os(err, errno, path, "choose a place that can be written",
                           "cannot make the folder");
}

enum sh_status sh_home_make_folder(const char *path, struct sh_error *err)
{
    char part[SH_HOME_PATH_BYTES];
    enum sh_status status = join(path, "", part, err);
    for (char *at = part + 1; status == SH_OK && *at != '\0'; at++) {
        if (*at == '/') {
            *at = '\0';
            status = make_one(part, err);
            *at = '/';
        }
    }
    if (status == SH_OK) {
        status = make_one(part, err);
    }
    struct stat found;
    if (status == SH_OK && (stat(path, &found) != 0 || !S_ISDIR(found.st_mode))) {
        status = sh_error_set(err, SH_ERR_EXISTS, path, "choose another name",
                              "there is a file of this name, no folder");
    }
    return status;
}

enum sh_status sh_home_format_recording(const struct tm *local,
                                        const char *athlete,
                                        char *name,
                                        size_t size_bytes)
{
    size_t n_bytes = strftime(name, size_bytes, "%Y-%m-%d_%H%M", local);
    if (n_bytes == 0) {
        return SH_ERR_FULL;
    }
    if (athlete[0] == '\0') {
        return SH_OK;
    }
    if (n_bytes + 2 > size_bytes) {
        return SH_ERR_FULL;
    }
    name[n_bytes++] = '_';
    return sh_percent_encode(athlete, name + n_bytes, size_bytes - n_bytes) ? SH_OK
                                                                            : SH_ERR_FULL;
}

/* The last part of a path. */
static void copy_last_part(const char *path, char *name, size_t size_bytes)
{
    size_t end = strlen(path);
    while (end > 1 && path[end - 1] == '/') {
        end--;
    }
    size_t begin = end;
    while (begin > 0 && path[begin - 1] != '/') {
        begin--;
    }
    (void)snprintf(name, size_bytes, "%.*s", (int)(end - begin), path + begin);
}

void sh_home_copy_name(const char *folder, char *name, size_t size_bytes)
{
    copy_last_part(folder, name, size_bytes);
    if (strcmp(name, ".") == 0 || strcmp(name, "..") == 0) {
        char *whole = realpath(folder, NULL);
        if (whole != NULL) {
            copy_last_part(whole, name, size_bytes);
        }
        free(whole);
    }
}
