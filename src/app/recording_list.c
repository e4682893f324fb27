/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/recording_list.h"

#include <dirent.h>
#include <errno.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "app/home.h"

#define FIRST_CAPACITY 64u

static bool is_recording(const char *folder)
{
    char path[SH_HOME_PATH_BYTES];
    struct stat file;
    const int n = snprintf(path, sizeof path, "%s/recording.json", folder);
    return n > 0 && (size_t)n < sizeof path && stat(path, &file) == 0 && S_ISREG(file.st_mode);
}

static enum sh_status append(struct sh_recording_list *list, const char *folder)
{
    if (list->n == SH_RECORDING_LIST_MAX) {
        return SH_ERR_FULL;
    }
    if (list->n == list->capacity) {
        const size_t capacity = list->capacity == 0 ? FIRST_CAPACITY : 2 * list->capacity;
        char **grown = realloc(list->folder, capacity * sizeof *grown);
        if (grown == NULL) {
            return SH_ERR_MEMORY;
        }
        list->folder = grown;
        list->capacity = capacity;
    }
    char *copy = strdup(folder);
    if (copy == NULL) {
        return SH_ERR_MEMORY;
    }
    list->folder[list->n++] = copy;
    return SH_OK;
}

static enum sh_status
look_into(struct sh_recording_list *list, const char *folder, unsigned depth);

static enum sh_status
look_at(struct sh_recording_list *list, const char *folder, unsigned depth)
{
    if (is_recording(folder)) {
        return append(list, folder);
    }
    return depth < SH_RECORDING_LIST_DEPTH_MAX ? look_into(list, folder, depth + 1) : SH_OK;
}

static bool is_folder(const char *path)
{
    struct stat file;
    return lstat(path, &file) == 0 && S_ISDIR(file.st_mode);
}

static enum sh_status
look_into(struct sh_recording_list *list, const char *folder, unsigned depth)
{
    DIR *open = opendir(folder);
    enum sh_status status = SH_OK;
    if (open == NULL) {
        return SH_OK;
    }
    for (struct dirent *entry = readdir(open); entry != NULL && status == SH_OK;
         entry = readdir(open)) {
        char path[SH_HOME_PATH_BYTES];
        const int n = snprintf(path, sizeof path, "%s/%s", folder, entry->d_name);
        if (entry->d_name[0] != '.' && n > 0 && (size_t)n < sizeof path && is_folder(path)) {
            status = look_at(list, path, depth);
        }
    }
    (void)closedir(open);
    return status;
}

enum sh_status
sh_recording_list_add(struct sh_recording_list *list, const char *root, struct sh_error *err)
{
    char *whole = realpath(root, NULL);
    if (whole == NULL) {
        return sh_error_set_os(err, errno, root, "give a folder that holds recordings",
                               "the folder cannot be found");
    }
    enum sh_status status = SH_OK;
    DIR *open = opendir(whole);
    if (open == NULL) {
        status = sh_error_set_os(err, errno, root, "give a folder that holds recordings",
                                 "the folder cannot be read");
    } else {
        (void)closedir(open);
        status = look_at(list, whole, 0);
        if (status != SH_OK) {
            (void)sh_error_set(err, status, root, NULL, "too many recordings");
        }
    }
    free(whole);
    return status;
}

static int compare(const void *one, const void *other)
{
    const char *const *a = one;
    const char *const *b = other;
    return strcmp(*a, *b);
}

void sh_recording_list_settle(struct sh_recording_list *list)
{
    if (list->n == 0) {
        return;
    }
    qsort(list->folder, list->n, sizeof *list->folder, compare);
    size_t n_kept = 1;
    for (size_t i = 1; i < list->n; i++) {
        if (strcmp(list->folder[i], list->folder[n_kept - 1]) == 0) {
            free(list->folder[i]);
        } else {
            list->folder[n_kept++] = list->folder[i];
        }
    }
    list->n = n_kept;
}

void sh_recording_list_close(struct sh_recording_list *list)
{
    for (size_t i = 0; i < list->n; i++) {
        free(list->folder[i]);
    }
    free(list->folder);
    *list = (struct sh_recording_list){0};
}
