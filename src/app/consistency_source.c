/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/consistency_source.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "app/analysis_store.h"
#include "app/athlete_list.h"
#include "app/consistency_index.h"
#include "app/home.h"
#include "app/home_index.h"
#include "recording/session_json.h"

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

/* unread: where one that cannot be read is left out; NULL: it ends all. */
static enum sh_status add_all(const struct sh_athlete_list *list,
                              const struct sh_history_update_sink *unread,
                              struct sh_consistency_source *source,
                              struct sh_error *err)
{
    enum sh_status status = SH_OK;
    source->names = calloc(list->n + 1, sizeof *source->names);
    source->name_list = calloc(list->n + 1, sizeof *source->name_list);
    if (source->names == NULL || source->name_list == NULL) {
        return sh_error_set(err, SH_ERR_MEMORY, NULL, NULL, "out of memory");
    }
    (void)snprintf(source->athlete, sizeof source->athlete, "%s", list->entries[0].athlete);
    for (size_t i = 0; i < list->n && status == SH_OK; i++) {
        struct sh_error failure = {0};
        status =
            add_recording(list->entries[i].folder, source, unread != NULL ? &failure : err);
        if (status != SH_OK && unread != NULL) {
            unread->failed(unread->context, &failure);
            status = SH_OK;
        }
    }
    return status;
}

/* From the folders themselves. */
static enum sh_status read_folders(const struct sh_athlete_list_place *place,
                                   char *const *words,
                                   size_t n_words,
                                   struct sh_consistency_source *source,
                                   struct sh_error *err)
{
    struct sh_athlete_list list;
    const bool is_name = sh_athlete_list_is_name(words, n_words);
    enum sh_status status = sh_athlete_list_find(place, words, n_words, &list, err);
    if (status == SH_OK) {
        status = add_all(&list, is_name ? place->unread : NULL, source, err);
    }
    sh_athlete_list_close(&list);
    return status;
}

/* From the index; false where it cannot be had, which unread is told. */
static bool read_index(const char *home,
                       const char *athlete,
                       const struct sh_history_update_sink *unread,
                       struct sh_consistency_source *source)
{
    struct sh_index *index = NULL;
    struct sh_error failure = {0};
    enum sh_status status = sh_home_index_open(home, unread, &index, &failure);
    if (status == SH_OK) {
        status = sh_consistency_index_read(index, athlete, source, &failure);
    }
    sh_index_close(&index);
    if (status != SH_OK) {
        unread->failed(unread->context, &failure);
        sh_consistency_source_close(source);
    }
    return status == SH_OK;
}

enum sh_status sh_consistency_source_read(const char *home,
                                          char *const *words,
                                          size_t n_words,
                                          const struct sh_history_update_sink *unread,
                                          struct sh_consistency_source *source,
                                          struct sh_error *err)
{
    char recordings[SH_HOME_PATH_BYTES];
    const struct sh_athlete_list_place place = {home, recordings, unread};
    const char *athlete = sh_athlete_list_is_name(words, n_words) ? words[0] : NULL;
    enum sh_status status = SH_OK;
    memset(source, 0, sizeof *source);
    (void)snprintf(recordings, sizeof recordings, "%.*s/recordings",
                   (int)sizeof recordings - 16, home);
    if (athlete != NULL) {
        status = sh_hidden_people_check(home, athlete, err);
    }
    const bool is_indexed = status == SH_OK && athlete != NULL && athlete[0] != '\0' &&
                            read_index(home, athlete, unread, source);
    if (status == SH_OK && !is_indexed) {
        status = read_folders(&place, words, n_words, source, err);
    }
    if (status == SH_OK && source->n == 0) {
        status = sh_error_set(err, SH_ERR_NOT_FOUND, words[0],
                              "give a recording's folder, or an athlete of the home",
                              "no recording is there, nor one of an athlete of that name");
    }
    return status;
}

void sh_consistency_source_close(struct sh_consistency_source *source)
{
    sh_consistency_set_close(&source->set);
    free(source->names);
    free(source->name_list);
    memset(source, 0, sizeof *source);
}
