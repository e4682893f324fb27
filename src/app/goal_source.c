/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/goal_source.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/day.h"

#define FIRST_CAPACITY 256u

/* A recording, until its shots come. */
struct recording {
    char content[SH_DIGEST_TEXT_BYTES];
    char session[SH_SESSION_NAME_BYTES];
    int day;
};

struct reading {
    struct recording *recordings; /* owned, in the order in which their shots come */
    size_t n_recordings;
    size_t at; /* the recording of the shot before; n_recordings: none yet */
    struct sh_goal_source *source;
    size_t capacity;
    unsigned last_end; /* of that recording */
    size_t n_ends;
};

static enum sh_status take_recording(void *context, const struct sh_index_entry *entry)
{
    struct reading *reading = context;
    struct recording *grown =
        realloc(reading->recordings, (reading->n_recordings + 1) * sizeof *grown);
    if (grown == NULL) {
        return SH_ERR_MEMORY;
    }
    reading->recordings = grown;
    struct recording *to = &grown[reading->n_recordings++];
    *to = (struct recording){0};
    (void)snprintf(to->content, sizeof to->content, "%s", entry->recording.content);
    (void)snprintf(to->session, sizeof to->session, "%s", entry->recording.session);
    (void)sh_day_parse_instant(entry->recording.started, entry->recording.utc_offset_min,
                               &to->day);
    return SH_OK;
}

/* Room for one more arrow. */
static bool grow(struct reading *reading)
{
    struct sh_goal_source *source = reading->source;
    if (source->n < reading->capacity) {
        return true;
    }
    const size_t capacity = reading->capacity == 0 ? FIRST_CAPACITY : 2 * reading->capacity;
    double *hold_s = realloc(source->hold_s, capacity * sizeof *hold_s);
    source->hold_s = hold_s != NULL ? hold_s : source->hold_s;
    double *score = realloc(source->score, capacity * sizeof *score);
    source->score = score != NULL ? score : source->score;
    size_t *end = realloc(source->end, capacity * sizeof *end);
    source->end = end != NULL ? end : source->end;
    if (hold_s == NULL || score == NULL || end == NULL) {
        return false;
    }
    reading->capacity = capacity;
    return true;
}

/* A shot of another recording than the one before: perhaps of another session. */
static void begin_recording(struct reading *reading, const struct recording *recording)
{
    struct sh_goal_source *source = reading->source;
    const struct sh_goal_sheet_session *before =
        source->n_sessions > 0 ? &source->sessions[source->n_sessions - 1] : NULL;
    reading->last_end = 0;
    if (before != NULL && before->day == recording->day &&
        strcmp(before->name, recording->session) == 0) {
        return;
    }
    struct sh_goal_sheet_session *session = &source->sessions[source->n_sessions++];
    session->day = recording->day;
    session->first = source->n;
    (void)snprintf(session->name, sizeof session->name, "%s", recording->session);
}

static enum sh_status take_shot(void *context, const struct sh_index_row *row)
{
    struct reading *reading = context;
    struct sh_goal_source *source = reading->source;
    size_t at = reading->at < reading->n_recordings ? reading->at : 0;
    if (row->kind != SH_SHOT_SHOT) {
        return SH_OK;
    }
    while (at < reading->n_recordings &&
           strcmp(reading->recordings[at].content, row->content) != 0) {
        at++;
    }
    if (at == reading->n_recordings) {
        return SH_OK; /* put in since the recordings were listed */
    }
    if (at != reading->at) {
        begin_recording(reading, &reading->recordings[at]);
        reading->at = at;
    }
    if (!grow(reading)) {
        return SH_ERR_MEMORY;
    }
    reading->n_ends += row->arrow.end != reading->last_end ? 1 : 0;
    reading->last_end = row->arrow.end;
    source->hold_s[source->n] =
        sh_quantity_is_known(&row->value[0]) ? row->value[0].value : (double)NAN;
    source->score[source->n] = row->arrow.has_score ? row->arrow.score : (double)NAN;
    source->end[source->n++] = reading->n_ends;
    return SH_OK;
}

static enum sh_status read_shots(struct sh_index *index,
                                 const char *athlete,
                                 struct reading *reading,
                                 struct sh_error *err)
{
    const struct sh_index_query query = {
        .filter = {.athlete = athlete}, .place = {{SH_MEASURE_HOLD_TIME, 0}}, .n_places = 1};
    const struct sh_index_row_sink sink = {take_shot, reading};
    reading->at = reading->n_recordings;
    reading->source->sessions =
        calloc(reading->n_recordings + 1, sizeof *reading->source->sessions);
    return reading->source->sessions == NULL ? SH_ERR_MEMORY
                                             : sh_index_query_shots(index, &query, &sink, err);
}

enum sh_status sh_goal_source_read(struct sh_index *index,
                                   const char *athlete,
                                   struct sh_goal_source *source,
                                   struct sh_error *err)
{
    *source = (struct sh_goal_source){0};
    struct reading reading = {.source = source};
    const struct sh_index_filter filter = {.athlete = athlete};
    const struct sh_index_entry_sink sink = {take_recording, &reading};
    enum sh_status status = sh_index_query_recordings(index, &filter, &sink, err);
    if (status == SH_OK) {
        status = read_shots(index, athlete, &reading, err);
    }
    free(reading.recordings);
    return status == SH_ERR_MEMORY ? sh_error_set(err, status, athlete, NULL, "out of memory")
                                   : status;
}

static enum sh_status say_why(enum sh_status status,
                              const char *athlete,
                              const struct sh_goal_best *best,
                              struct sh_error *err)
{
    if (status == SH_ERR_SHORT) {
        return sh_error_set(
            err, status, athlete, "enter scores while capturing, or give a band with --hold",
            "%zu arrows with hold and score, %zu of them the best: it takes "
            "%u and %u",
            best->n_scored, best->n_best, SH_GOAL_BAND_SCORED_MIN, SH_GOAL_BAND_BEST_MIN);
    }
    if (status == SH_ERR_ARGUMENT) {
        return sh_error_set(err, status, athlete, "give a band with --hold",
                            "the %zu scored arrows do not differ in score or in hold",
                            best->n_scored);
    }
    return sh_error_set(err, status, athlete, NULL, "out of memory");
}

enum sh_status sh_goal_source_find_best(const struct sh_goal_source *source,
                                        const char *athlete,
                                        struct sh_goal_best *best,
                                        struct sh_error *err)
{
    double *hold_s = calloc(source->n + 1, sizeof *hold_s);
    double *score = calloc(source->n + 1, sizeof *score);
    size_t n = 0;
    enum sh_status status = hold_s != NULL && score != NULL ? SH_OK : SH_ERR_MEMORY;
    for (size_t i = 0; i < source->n && status == SH_OK; i++) {
        if (!isnan(source->hold_s[i]) && !isnan(source->score[i])) {
            hold_s[n] = source->hold_s[i];
            score[n++] = source->score[i];
        }
    }
    if (status == SH_OK) {
        status = sh_goal_band_find_best(hold_s, score, n, best);
    }
    free(hold_s);
    free(score);
    return status == SH_OK ? SH_OK : say_why(status, athlete, best, err);
}

void sh_goal_source_close(struct sh_goal_source *source)
{
    free(source->sessions);
    free(source->hold_s);
    free(source->score);
    free(source->end);
    *source = (struct sh_goal_source){0};
}
