/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/consistency_index.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "app/home.h"

#define LEFT_DRAW    SH_CONSISTENCY_MEASURES /* places of the query behind the measures */
#define LEFT_RELEASE (SH_CONSISTENCY_MEASURES + 1)
#define PLACES       (SH_CONSISTENCY_MEASURES + 2)

/* The recordings, and the draws of the one that is being read. */
struct reading {
    struct sh_consistency_source *source;
    char (*content)[SH_DIGEST_TEXT_BYTES]; /* owned, [source->n] */
    size_t at;                             /* its place */
    struct sh_consistency_draw *draws;     /* owned, [n] */
    size_t n;
    size_t capacity;
};

static enum sh_status take_recording(void *context, const struct sh_index_entry *entry)
{
    struct reading *reading = context;
    struct sh_consistency_source *source = reading->source;
    const size_t n = source->n + 1;
    char(*names)[SH_SESSION_FILE_BYTES] = realloc(source->names, n * sizeof *names);
    source->names = names != NULL ? names : source->names;
    char(*content)[SH_DIGEST_TEXT_BYTES] = realloc(reading->content, n * sizeof *content);
    reading->content = content != NULL ? content : reading->content;
    if (names == NULL || content == NULL) {
        return SH_ERR_MEMORY;
    }
    sh_home_copy_name(entry->recording.folder, names[source->n], sizeof names[0]);
    memcpy(content[source->n], entry->recording.content, sizeof content[0]);
    source->n = n;
    return SH_OK;
}

/* The draws of one recording are together: into the set with them, none too. */
static enum sh_status end_recording(struct reading *reading)
{
    const enum sh_status status =
        sh_consistency_set_add_draws(&reading->source->set, reading->draws, reading->n);
    reading->n = 0;
    reading->at++;
    return status;
}

static enum sh_status add_draw(struct reading *reading, const struct sh_index_row *row)
{
    if (reading->n == reading->capacity) {
        const size_t capacity = reading->capacity == 0 ? 64 : 2 * reading->capacity;
        struct sh_consistency_draw *grown = realloc(reading->draws, capacity * sizeof *grown);
        if (grown == NULL) {
            return SH_ERR_MEMORY;
        }
        reading->draws = grown;
        reading->capacity = capacity;
    }
    struct sh_consistency_draw *draw = &reading->draws[reading->n++];
    *draw = (struct sh_consistency_draw){.n = row->n,
                                         .kind = row->kind,
                                         .arrow = row->arrow,
                                         .full_draw_s = row->full_draw_s,
                                         .let_down_s = row->let_down_s,
                                         .time_left_draw_s = row->value[LEFT_DRAW],
                                         .time_left_release_s = row->value[LEFT_RELEASE]};
    memcpy(draw->value, row->value, sizeof draw->value);
    return SH_OK;
}

static enum sh_status take_row(void *context, const struct sh_index_row *row)
{
    struct reading *reading = context;
    enum sh_status status = SH_OK;
    while (status == SH_OK && reading->at < reading->source->n &&
           strcmp(reading->content[reading->at], row->content) != 0) {
        status = end_recording(reading);
    }
    return status == SH_OK && reading->at < reading->source->n ? add_draw(reading, row)
                                                               : status;
}

static enum sh_status read_draws(struct sh_index *index,
                                 const char *athlete,
                                 struct reading *reading,
                                 struct sh_error *err)
{
    struct sh_index_query query = {.filter = {.athlete = athlete}, .n_places = PLACES};
    const struct sh_index_row_sink sink = {take_row, reading};
    for (size_t m = 0; m < SH_CONSISTENCY_MEASURES; m++) {
        query.place[m].measure =
            sh_consistency_set_get_kind((enum sh_consistency_measure)m)->measure;
    }
    query.place[LEFT_DRAW].measure = SH_MEASURE_TIME_LEFT_DRAW;
    query.place[LEFT_RELEASE].measure = SH_MEASURE_TIME_LEFT_RELEASE;
    enum sh_status status = sh_index_query_shots(index, &query, &sink, err);
    while (status == SH_OK && reading->at < reading->source->n) {
        status = end_recording(reading);
    }
    return status;
}

static enum sh_status list_names(struct sh_consistency_source *source)
{
    source->name_list = calloc(source->n + 1, sizeof *source->name_list);
    for (size_t i = 0; source->name_list != NULL && i < source->n; i++) {
        source->name_list[i] = source->names[i];
    }
    return source->name_list != NULL ? SH_OK : SH_ERR_MEMORY;
}

enum sh_status sh_consistency_index_read(struct sh_index *index,
                                         const char *athlete,
                                         struct sh_consistency_source *source,
                                         struct sh_error *err)
{
    struct reading reading = {.source = source};
    const struct sh_index_filter filter = {.athlete = athlete};
    const struct sh_index_entry_sink sink = {take_recording, &reading};
    enum sh_status status = sh_index_query_recordings(index, &filter, &sink, err);
    if (status == SH_OK) {
        status = read_draws(index, athlete, &reading, err);
    }
    if (status == SH_OK) {
        status = list_names(source);
    }
    (void)snprintf(source->athlete, sizeof source->athlete, "%s", athlete);
    free(reading.content);
    free(reading.draws);
    return status == SH_ERR_MEMORY ? sh_error_set(err, status, athlete, NULL, "out of memory")
                                   : status;
}
