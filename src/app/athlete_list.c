/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/athlete_list.h"

#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "app/hidden_people.h"
#include "recording/session_json.h"

static bool is_folder(const char *path)
{
    struct stat file;
    return stat(path, &file) == 0 && S_ISDIR(file.st_mode);
}

bool sh_athlete_list_is_name(char *const *words, size_t n_words)
{
    return n_words == 1 && !is_folder(words[0]);
}

static enum sh_status list_folders(const char *recordings,
                                   char *const *words,
                                   size_t n_words,
                                   struct sh_recording_list *list,
                                   struct sh_error *err)
{
    enum sh_status status = SH_OK;
    const bool is_name = sh_athlete_list_is_name(words, n_words);
    if (is_name) {
        struct sh_error missing = {0};
        status = sh_recording_list_add(list, recordings, &missing);
        if (status != SH_OK) {
            return sh_error_set(err, status, words[0],
                                "give a recording's folder, or an athlete of the home",
                                "no such folder, and the home has no recordings");
        }
    }
    for (size_t i = 0; i < n_words && !is_name && status == SH_OK; i++) {
        status = sh_recording_list_add(list, words[i], err);
    }
    sh_recording_list_settle(list);
    return status;
}

static enum sh_status
read_entry(const char *folder, struct sh_athlete_list_entry *entry, struct sh_error *err)
{
    struct sh_session session = {0};
    struct sh_session_json *kept = NULL;
    const enum sh_status status = sh_session_json_read(folder, &session, &kept, err);
    if (status == SH_OK) {
        entry->folder = folder;
        (void)snprintf(entry->athlete, sizeof entry->athlete, "%s", session.athlete);
        (void)snprintf(entry->started, sizeof entry->started, "%s", session.started);
    }
    sh_session_json_close(&kept);
    sh_session_close(&session);
    return status;
}

static int compare_entries(const void *a, const void *b)
{
    const struct sh_athlete_list_entry *x = a;
    const struct sh_athlete_list_entry *y = b;
    const int order = strcmp(x->started, y->started);
    return order != 0 ? order : strcmp(x->folder, y->folder);
}

/* Those of the athlete; of nobody in particular, all, who must be one. */
static enum sh_status choose(struct sh_athlete_list *list,
                             const char *athlete,
                             const struct sh_history_update_sink *unread,
                             struct sh_error *err)
{
    struct sh_athlete_list_entry *entries = list->entries;
    for (size_t i = 0; i < list->folders.n; i++) {
        struct sh_error failure = {0};
        struct sh_athlete_list_entry *entry = &entries[list->n];
        enum sh_status status =
            read_entry(list->folders.folder[i], entry, athlete != NULL ? &failure : err);
        if (status != SH_OK && athlete == NULL) {
            return status;
        }
        if (status != SH_OK) { /* may be hers or another's */
            unread->failed(unread->context, &failure);
        }
        if (status != SH_OK || (athlete != NULL && strcmp(entry->athlete, athlete) != 0)) {
            continue;
        }
        if (strcmp(entry->athlete, entries[0].athlete) != 0) {
            return sh_error_set(err, SH_ERR_ARGUMENT, entry->folder,
                                "name recordings of one athlete: people are not compared",
                                "shot by another athlete than %s", entries[0].folder);
        }
        ++list->n;
    }
    return SH_OK;
}

enum sh_status sh_athlete_list_find(const struct sh_athlete_list_place *place,
                                    char *const *words,
                                    size_t n_words,
                                    struct sh_athlete_list *list,
                                    struct sh_error *err)
{
    const char *athlete = sh_athlete_list_is_name(words, n_words) ? words[0] : NULL;
    memset(list, 0, sizeof *list);
    enum sh_status status =
        athlete != NULL ? sh_hidden_people_check(place->home, athlete, err) : SH_OK;
    if (status == SH_OK) {
        status = list_folders(place->recordings, words, n_words, &list->folders, err);
    }
    if (status == SH_OK) {
        list->entries = calloc(list->folders.n + 1, sizeof *list->entries);
        status = list->entries != NULL
                     ? choose(list, athlete, place->unread, err)
                     : sh_error_set(err, SH_ERR_MEMORY, NULL, NULL, "out of memory");
    }
    if (status == SH_OK && list->n == 0) {
        status = sh_error_set(err, SH_ERR_NOT_FOUND, words[0],
                              "give a recording's folder, or an athlete of the home",
                              "no recording is there, nor one of an athlete of that name");
    }
    if (status == SH_OK && athlete == NULL) {
        status = sh_hidden_people_check(place->home, list->entries[0].athlete, err);
    }
    if (status == SH_OK && list->entries != NULL) {
        qsort(list->entries, list->n, sizeof *list->entries, compare_entries);
    }
    return status;
}

void sh_athlete_list_close(struct sh_athlete_list *list)
{
    free(list->entries);
    sh_recording_list_close(&list->folders);
    memset(list, 0, sizeof *list);
}
