/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/consistency_source.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "app/analysis_store.h"
#include "app/athlete_list.h"
#include "app/hidden_people.h"
#include "app/home.h"
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

static enum sh_status add_all(const struct sh_athlete_list *list,
                              struct sh_consistency_source *source,
                              struct sh_error *err)
{
    enum sh_status status = SH_OK;
    source->names = calloc(list->n, sizeof *source->names);
    source->name_list = calloc(list->n, sizeof *source->name_list);
    if (source->names == NULL || source->name_list == NULL) {
        return sh_error_set(err, SH_ERR_MEMORY, NULL, NULL, "out of memory");
    }
    (void)snprintf(source->athlete, sizeof source->athlete, "%s", list->entries[0].athlete);
    for (size_t i = 0; i < list->n && status == SH_OK; i++) {
        status = add_recording(list->entries[i].folder, source, err);
    }
    return status;
}

enum sh_status sh_consistency_source_read(const char *home,
                                          char *const *words,
                                          size_t n_words,
                                          struct sh_consistency_source *source,
                                          struct sh_error *err)
{
    char recordings[SH_HOME_PATH_BYTES];
    struct sh_athlete_list list;
    memset(source, 0, sizeof *source);
    (void)snprintf(recordings, sizeof recordings, "%.*s/recordings",
                   (int)sizeof recordings - 16, home);
    enum sh_status status = sh_athlete_list_find(recordings, words, n_words, &list, err);
    if (status == SH_OK) {
        status = sh_hidden_people_check(home, list.entries[0].athlete, err);
    }
    if (status == SH_OK) {
        status = add_all(&list, source, err);
    }
    sh_athlete_list_close(&list);
    return status;
}

void sh_consistency_source_close(struct sh_consistency_source *source)
{
    sh_consistency_set_close(&source->set);
    free(source->names);
    free(source->name_list);
    memset(source, 0, sizeof *source);
}
