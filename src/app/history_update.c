/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/history_update.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "app/analysis_store.h"
#include "app/home.h"
#include "app/progress.h"
#include "app/recording_content.h"
#include "history/index_query.h"
#include "recording/session_json.h"
#include "report/analysis_json.h"

/* One run. */
struct update {
    struct sh_index *index;
    const struct sh_history_update_config *config;
    struct sh_history_update_result *result;
    bool has_index_failed; /* which ends the run; a recording's failure does not */
};

/* Notes what came of a call to the index. */
static enum sh_status note_index(struct update *update, enum sh_status status)
{
    update->has_index_failed = update->has_index_failed || status != SH_OK;
    return status;
}

static bool is_there(const char *folder)
{
    char path[SH_HOME_PATH_BYTES];
    struct stat file;
    const int n = snprintf(path, sizeof path, "%s/recording.json", folder);
    return n > 0 && (size_t)n < sizeof path && stat(path, &file) == 0;
}

static bool is_current(const struct sh_index_recording *known, int64_t stamp_ns)
{
    return known->stamp_ns == stamp_ns && strcmp(known->program, SH_ANALYSIS_JSON_PROGRAM) == 0;
}

/* The roles of all channels, in their order. */
static void format_channels(const struct sh_session *session, struct sh_index_recording *out)
{
    size_t used = 0;
    for (size_t i = 0; i < session->n_streams; i++) {
        const struct sh_stream *stream = &session->streams[i].stream;
        for (size_t c = 0; c < stream->n_channels && used < sizeof out->channels; c++) {
            const int n =
                snprintf(out->channels + used, sizeof out->channels - used, "%s%s",
                         used > 0 ? " " : "", sh_channel_role_name(stream->channel[c].role));
            used += n > 0 ? (size_t)n : 0;
        }
    }
}

static struct sh_index_recording
describe(const char *folder, const struct sh_session *session, int64_t stamp_ns)
{
    struct sh_index_recording recording = {.stamp_ns = stamp_ns,
                                           .utc_offset_min = session->utc_offset_min,
                                           .tags = session->tags,
                                           .n_tags = session->n_tags};
    (void)snprintf(recording.folder, sizeof recording.folder, "%s", folder);
    (void)snprintf(recording.program, sizeof recording.program, "%s", SH_ANALYSIS_JSON_PROGRAM);
    (void)snprintf(recording.started, sizeof recording.started, "%s", session->started);
    (void)snprintf(recording.session, sizeof recording.session, "%s", session->session);
    (void)snprintf(recording.athlete, sizeof recording.athlete, "%s", session->athlete);
    (void)snprintf(recording.bow, sizeof recording.bow, "%s", session->bow.name);
    format_channels(session, &recording);
    return recording;
}

static enum sh_status put(struct update *update,
                          const struct sh_index_recording *recording,
                          const struct sh_session *session,
                          struct sh_error *err)
{
    struct sh_analysis analysis = {0};
    enum sh_status status =
        sh_analysis_store_get(recording->folder, update->config->thresholds, &analysis, err);
    if (status != SH_OK) {
        return status;
    }
    struct sh_arrow *arrows = calloc(analysis.n_shots + 1, sizeof *arrows);
    if (arrows == NULL) {
        status = sh_error_set(err, SH_ERR_MEMORY, recording->folder, NULL, "out of memory");
    } else {
        sh_arrow_find_all(&analysis, session->marks, session->n_marks, arrows);
        status =
            note_index(update, sh_index_put(update->index, recording, &analysis, arrows, err));
    }
    free(arrows);
    sh_analysis_close(&analysis);
    update->result->n_put += status == SH_OK ? 1 : 0;
    return status;
}

/* Of two folders of one content: whether the other one counts. */
static bool is_copy_of(const struct sh_index_recording *other,
                       const struct sh_index_recording *recording)
{
    if (strcmp(other->folder, recording->folder) == 0 || !is_there(other->folder)) {
        return false;
    }
    return other->stamp_ns > recording->stamp_ns ||
           (other->stamp_ns == recording->stamp_ns &&
            strcmp(other->folder, recording->folder) < 0);
}

static enum sh_status settle(struct update *update,
                             const struct sh_index_recording *recording,
                             const struct sh_session *session,
                             struct sh_error *err)
{
    struct sh_index_recording known;
    enum sh_status status = SH_OK;
    const bool is_known =
        sh_index_find_content(update->index, recording->content, &known, &status);
    if (note_index(update, status) != SH_OK) {
        return sh_error_set(err, status, recording->folder, NULL, "the index cannot be read");
    }
    if (is_known && is_copy_of(&known, recording)) {
        update->result->n_copies++;
        return SH_OK;
    }
    if (is_known && is_there(known.folder) && strcmp(known.folder, recording->folder) != 0) {
        update->result->n_copies++; /* the other is the copy */
    }
    if (is_known && is_current(&known, recording->stamp_ns)) {
        update->result->n_moved++;
        return note_index(
            update, sh_index_move(update->index, recording->content, recording->folder, err));
    }
    return put(update, recording, session, err);
}

/* A recording that is not to be shown: no row is left of it. */
static enum sh_status leave_out(struct update *update, const char *folder, struct sh_error *err)
{
    struct sh_index_recording known;
    enum sh_status status = SH_OK;
    const bool is_known = sh_index_find_folder(update->index, folder, &known, &status);
    update->result->n_hidden++;
    if (is_known) {
        status = sh_index_remove(update->index, known.content, err);
    }
    return note_index(update, status);
}

static enum sh_status
is_hidden(struct update *update, const char *athlete, bool *answer, struct sh_error *err)
{
    *answer = false;
    return update->config->hidden == NULL
               ? SH_OK
               : sh_hidden_people_find(update->config->hidden, athlete, answer, err);
}

/* A folder that the index does not know as it is now. */
static enum sh_status
look_at(struct update *update, const char *folder, int64_t stamp_ns, struct sh_error *err)
{
    struct sh_session session = {0};
    enum sh_status status = sh_session_json_read(folder, &session, NULL, err);
    if (status != SH_OK) {
        return status;
    }
    bool is_left_out = false;
    struct sh_index_recording recording = describe(folder, &session, stamp_ns);
    status = is_hidden(update, session.athlete, &is_left_out, err);
    if (status == SH_OK && is_left_out) {
        status = leave_out(update, folder, err);
    } else if (status == SH_OK) {
        status = sh_recording_content_find(folder, &session, recording.content, err);
    }
    if (status == SH_OK && !is_left_out) {
        status = settle(update, &recording, &session, err);
    }
    sh_session_close(&session);
    return status;
}

static enum sh_status
update_folder(struct update *update, const char *folder, struct sh_error *err)
{
    struct sh_history_update_result *result = update->result;
    struct sh_index_recording known;
    struct sh_error failure = {0};
    enum sh_status status = SH_OK;
    const int64_t stamp_ns = sh_recording_content_get_stamp_ns(folder);
    const bool is_known = sh_index_find_folder(update->index, folder, &known, &status);
    if (status != SH_OK) {
        return sh_error_set(err, status, folder, NULL, "the index cannot be read");
    }
    bool is_left_out = false;
    const bool is_fresh = is_known && is_current(&known, stamp_ns);
    if (is_fresh) {
        status = is_hidden(update, known.athlete, &is_left_out, &failure);
    }
    if (is_fresh && status == SH_OK && !is_left_out) {
        result->n_unchanged++;
        return SH_OK;
    }
    if (status == SH_OK) {
        status = look_at(update, folder, stamp_ns, &failure);
    }
    if (update->has_index_failed && err != NULL) {
        *err = failure;
    }
    if (status == SH_OK || update->has_index_failed) {
        return status;
    }
    if (result->n_failed++ == 0) {
        result->first_failure = failure;
    }
    if (update->config->sink.failed != NULL) {
        update->config->sink.failed(update->config->sink.context, &failure);
    }
    return SH_OK;
}

/* The contents whose folders are gone, or whose athletes are hidden. */
struct gone {
    struct update *update;
    char (*content)[SH_DIGEST_TEXT_BYTES];
    size_t n;
};

static enum sh_status note_gone(void *context, const struct sh_index_entry *entry)
{
    struct gone *gone = context;
    bool is_left_out = false;
    const enum sh_status status =
        is_hidden(gone->update, entry->recording.athlete, &is_left_out, NULL);
    if (is_there(entry->recording.folder) && (status != SH_OK || !is_left_out)) {
        return SH_OK; /* also where a person's file cannot be read: as it was */
    }
    char(*grown)[SH_DIGEST_TEXT_BYTES] = realloc(gone->content, (gone->n + 1) * sizeof *grown);
    if (grown == NULL) {
        return SH_ERR_MEMORY;
    }
    gone->content = grown;
    memcpy(grown[gone->n++], entry->recording.content, SH_DIGEST_TEXT_BYTES);
    return SH_OK;
}

static enum sh_status remove_gone(struct update *update, struct sh_error *err)
{
    struct gone gone = {.update = update};
    const struct sh_index_filter all = {0};
    const struct sh_index_entry_sink sink = {note_gone, &gone};
    enum sh_status status = sh_index_query_recordings(update->index, &all, &sink, err);
    for (size_t i = 0; i < gone.n && status == SH_OK; i++) {
        status = sh_index_remove(update->index, gone.content[i], err);
        update->result->n_removed += status == SH_OK ? 1 : 0;
    }
    free(gone.content);
    return status;
}

static enum sh_status update_all(struct update *update, struct sh_error *err)
{
    const struct sh_recording_list *list = update->config->list;
    struct sh_progress progress;
    enum sh_status status = SH_OK;
    sh_progress_init(&progress, "history");
    for (size_t i = 0; i < list->n && status == SH_OK; i++) {
        status = update_folder(update, list->folder[i], err);
        sh_progress_set_count(&progress, i + 1, list->n);
    }
    sh_progress_close(&progress);
    return status == SH_OK ? remove_gone(update, err) : status;
}

enum sh_status sh_history_update_run(struct sh_index *index,
                                     const struct sh_history_update_config *config,
                                     struct sh_history_update_result *result,
                                     struct sh_error *err)
{
    struct update update = {.index = index, .config = config, .result = result};
    *result = (struct sh_history_update_result){0};
    if (!config->from_nothing) {
        return update_all(&update, err);
    }
    enum sh_status status = sh_index_begin(index, err);
    if (status == SH_OK) {
        status = sh_index_clear(index, err);
    }
    if (status == SH_OK) {
        status = update_all(&update, err);
    }
    if (status != SH_OK) {
        (void)sh_index_roll_back(index, NULL);
        return status;
    }
    return sh_index_commit(index, err);
}
