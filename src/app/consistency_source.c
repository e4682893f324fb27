/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/consistency_source.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "app/analysis_store.h"
#include "app/home.h"
#include "app/recording_list.h"
#include "recording/session_json.h"

/* A recording that may be taken: who shot it, and when. */
struct entry {
    const char *folder;
    char athlete[SH_SESSION_NAME_BYTES];
    char started[SH_SESSION_NAME_BYTES];
};

static bool is_folder(const char *path)
{
    struct stat file;
    return stat(path, &file) == 0 && S_ISDIR(file.st_mode);
}

static enum sh_status list_folders(const char *home,
                                   char *const *words,
                                   size_t n_words,
                                   const char **athlete,
                                   struct sh_recording_list *list,
                                   struct sh_error *err)
{
    char path[SH_HOME_PATH_BYTES];
    enum sh_status status = SH_OK;
    *athlete = NULL;
    if (n_words == 1 && !is_folder(words[0])) {
        *athlete = words[0];
        (void)snprintf(path, sizeof path, "%.*s/recordings", (int)sizeof path - 16, home);
        struct sh_error missing = {0};
        status = sh_recording_list_add(list, path, &missing);
        if (status != SH_OK) {
            return sh_error_set(err, status, words[0],
                                "give a recording's folder, or an athlete of the home",
                                "no such folder, and the home has no recordings");
        }
    }
    for (size_t i = 0; i < n_words && *athlete == NULL && status == SH_OK; i++) {
        status = sh_recording_list_add(list, words[i], err);
    }
    sh_recording_list_settle(list);
    return status;
}

static enum sh_status read_entry(const char *folder, struct entry *entry, struct sh_error *err)
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
    const struct entry *x = a;
    const struct entry *y = b;
    const int order = strcmp(x->started, y->started);
    return order != 0 ? order : strcmp(x->folder, y->folder);
}

/* Those of the athlete; of nobody in particular, all, who must be one. */
static enum sh_status choose(const struct sh_recording_list *list,
                             const char *athlete,
                             struct entry *entries,
                             size_t *n,
                             struct sh_error *err)
{
    *n = 0;
    for (size_t i = 0; i < list->n; i++) {
        struct sh_error unread = {0};
        struct entry *entry = &entries[*n];
        enum sh_status status =
            read_entry(list->folder[i], entry, athlete != NULL ? &unread : err);
        if (status != SH_OK && athlete == NULL) {
            return status;
        }
        if (status != SH_OK || (athlete != NULL && strcmp(entry->athlete, athlete) != 0)) {
            continue; /* another's, or one that cannot be read and may be */
        }
        if (strcmp(entry->athlete, entries[0].athlete) != 0) {
            return sh_error_set(err, SH_ERR_ARGUMENT, entry->folder,
                                "name recordings of one athlete: people are not compared",
                                "shot by another athlete than %s", entries[0].folder);
        }
        ++*n;
    }
    return SH_OK;
}

static enum sh_status
add_recording(const char *folder, struct sh_consistency_source *source, struct sh_error *err)
{
    struct sh_session session = {0};
    struct sh_session_json *kept = NULL;
    struct sh_analysis analysis = {0};
    const struct sh_thresholds thresholds = sh_thresholds_default();
    enum sh_status status = sh_session_json_read(folder, &session, &kept, err);
    if (status == SH_OK) {
        status = sh_analysis_store_get(folder, &thresholds, &analysis, err);
    }
    if (status == SH_OK) {
        status =
            sh_consistency_set_add(&source->set, &analysis, session.marks, session.n_marks);
        if (status != SH_OK) {
            (void)sh_error_set(err, status, folder, NULL, "out of memory");
        }
        sh_home_copy_name(folder, source->names[source->n], sizeof source->names[0]);
        source->name_list[source->n] = source->names[source->n];
        source->n++;
    }
    sh_analysis_close(&analysis);
    sh_session_json_close(&kept);
    sh_session_close(&session);
    return status;
}

static enum sh_status add_all(struct entry *entries,
                              size_t n,
                              struct sh_consistency_source *source,
                              struct sh_error *err)
{
    enum sh_status status = SH_OK;
    qsort(entries, n, sizeof *entries, compare_entries);
    source->names = calloc(n + 1, sizeof *source->names);
    source->name_list = calloc(n + 1, sizeof *source->name_list);
    if (source->names == NULL || source->name_list == NULL) {
        return sh_error_set(err, SH_ERR_MEMORY, NULL, NULL, "out of memory");
    }
    (void)snprintf(source->athlete, sizeof source->athlete, "%s", entries[0].athlete);
    for (size_t i = 0; i < n && status == SH_OK; i++) {
        status = add_recording(entries[i].folder, source, err);
    }
    return status;
}

enum sh_status sh_consistency_source_read(const char *home,
                                          char *const *words,
                                          size_t n_words,
                                          struct sh_consistency_source *source,
                                          struct sh_error *err)
{
    struct sh_recording_list list = {0};
    struct entry *entries = NULL;
    const char *athlete = NULL;
    size_t n = 0;
    memset(source, 0, sizeof *source);
    enum sh_status status = list_folders(home, words, n_words, &athlete, &list, err);
    if (status == SH_OK) {
        entries = calloc(list.n + 1, sizeof *entries);
        status = entries != NULL
                     ? choose(&list, athlete, entries, &n, err)
                     : sh_error_set(err, SH_ERR_MEMORY, NULL, NULL, "out of memory");
    }
    if (status == SH_OK && n == 0) {
        status = sh_error_set(err, SH_ERR_NOT_FOUND, words[0],
                              "give a recording's folder, or an athlete of the home",
                              "no recording is there, nor one of an athlete of that name");
    }
    if (status == SH_OK && entries != NULL) {
        status = add_all(entries, n, source, err);
    }
    free(entries);
    sh_recording_list_close(&list);
    return status;
}

void sh_consistency_source_close(struct sh_consistency_source *source)
{
    sh_consistency_set_close(&source->set);
    free(source->names);
    free(source->name_list);
    memset(source, 0, sizeof *source);
}
