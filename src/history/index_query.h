/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_HISTORY_INDEX_QUERY_H
#define SH_HISTORY_INDEX_QUERY_H

#include "history/index.h"
#include "measure/catalog.h"

/*
 * What the index tells: its recordings, and the shots of an athlete with the measures that are
 * asked for. Test: tests/history/test_index_query.c.
 */

#define SH_INDEX_QUERY_PLACES_MAX 16u

/* Which recordings; an empty or missing text takes all. Borrowed. */
struct sh_index_filter {
    const char *athlete;
    const char *bow;
    const char *channels;
    const char *from;  /* ISO 8601: started at or after, as text ("2026-05-01") */
    const char *until; /* started before */
};

/* A line of the list of recordings. */
struct sh_index_entry {
    struct sh_index_recording recording;
    double duration_s;
    size_t n_shots;
};

/* Visits entry after entry; anything but SH_OK ends the walk and comes back. */
struct sh_index_entry_sink {
    enum sh_status (*take)(void *context, const struct sh_index_entry *entry);
    void *context;
};

/*
 * Hands over the recordings that pass the filter, the earliest first (those that started
 * together by their content). Statuses of the sink; SH_ERR_IO, SH_ERR_BUSY, SH_ERR_MEMORY.
 */
enum sh_status sh_index_query_recordings(struct sh_index *index,
                                         const struct sh_index_filter *filter,
                                         const struct sh_index_entry_sink *sink,
                                         struct sh_error *err);

/* One shot of the answer. Borrowed during the visit. */
struct sh_index_row {
    char content[SH_DIGEST_TEXT_BYTES];
    const char *started;
    const char *athlete;
    unsigned n;
    enum sh_shot_kind kind;
    struct sh_arrow arrow;
    struct sh_quantity full_draw_s; /* in its recording */
    struct sh_quantity let_down_s;
    struct sh_quantity value[SH_INDEX_QUERY_PLACES_MAX]; /* [n_places], SH_WHY_NOT_ASKED where
                                                            unknown */
};

struct sh_index_row_sink {
    enum sh_status (*take)(void *context, const struct sh_index_row *row);
    void *context;
};

/* What is asked of each shot: parts of measures, at most SH_INDEX_QUERY_PLACES_MAX. */
struct sh_index_query {
    struct sh_index_filter filter;
    struct {
        enum sh_measure measure;
        size_t part;
    } place[SH_INDEX_QUERY_PLACES_MAX];
    size_t n_places;
};

/*
 * Hands over the shots, let-downs and unresolved draws of the recordings that pass the filter,
 * in order of time. SH_ERR_ARGUMENT: too many places, or one that is none. Else as above.
 */
enum sh_status sh_index_query_shots(struct sh_index *index,
                                    const struct sh_index_query *query,
                                    const struct sh_index_row_sink *sink,
                                    struct sh_error *err);

#endif
