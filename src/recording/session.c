/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "recording/session.h"

#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#define MARKS_MAX      1000000u
#define FIRST_CAPACITY 16u

void sh_session_close(struct sh_session *session)
{
    for (size_t i = 0; i < SH_STREAMS_MAX; i++) {
        sh_timebase_close(&session->streams[i].timebase);
        free(session->streams[i].gaps);
    }
    free(session->marks);
    *session = (struct sh_session){0};
}

static enum sh_status
copy_stream(const struct sh_session_stream *from, struct sh_session *to, size_t index)
{
    struct sh_session_stream *stream = &to->streams[index];
    *stream = *from;
    stream->gaps = NULL;
    stream->n_gaps = 0;
    stream->timebase.anchors = NULL;
    stream->timebase.n_anchors = 0;
    stream->timebase.capacity = 0;
    enum sh_status status = SH_OK;
    for (size_t i = 0; i < from->timebase.n_anchors && status == SH_OK; i++) {
        status = sh_timebase_append(&stream->timebase, &from->timebase.anchors[i]);
    }
    for (size_t i = 0; i < from->n_gaps && status == SH_OK; i++) {
        status = sh_session_add_gap(to, index, &from->gaps[i]);
    }
    return status;
}

enum sh_status sh_session_copy(const struct sh_session *from, struct sh_session *to)
{
    *to = *from;
    to->marks = NULL;
    to->n_marks = 0;
    for (size_t i = 0; i < SH_STREAMS_MAX; i++) {
        to->streams[i] = (struct sh_session_stream){0};
    }
    enum sh_status status = SH_OK;
    for (size_t i = 0; i < from->n_streams && status == SH_OK; i++) {
        status = copy_stream(&from->streams[i], to, i);
    }
    for (size_t i = 0; i < from->n_marks && status == SH_OK; i++) {
        status = sh_session_add_mark(to, &from->marks[i]);
    }
    if (status != SH_OK) {
        sh_session_close(to);
    }
    return status;
}

/*
 * Makes room for one more of n items. The capacity is the first of 16, 32, 64 ... that holds
 * them, so that it follows from n alone.
 */
static enum sh_status grow(void **items, size_t n, size_t item_bytes)
{
    if (n >= MARKS_MAX) {
        return SH_ERR_FULL;
    }
    bool is_full = n == 0 || (n >= FIRST_CAPACITY && (n & (n - 1)) == 0);
    if (!is_full) {
        return SH_OK;
    }
    size_t capacity = n == 0 ? FIRST_CAPACITY : 2 * n;
    void *grown = realloc(*items, capacity * item_bytes);
    if (grown == NULL) {
        return SH_ERR_MEMORY;
    }
    *items = grown;
    return SH_OK;
}

enum sh_status sh_session_add_mark(struct sh_session *session, const struct sh_mark *mark)
{
    void *marks = session->marks;
    enum sh_status status = grow(&marks, session->n_marks, sizeof *session->marks);
    if (status != SH_OK) {
        return status;
    }
    session->marks = marks;
    session->marks[session->n_marks++] = *mark;
    return SH_OK;
}

enum sh_status sh_session_remove_mark(struct sh_session *session, size_t index)
{
    if (index >= session->n_marks) {
        return SH_ERR_NOT_FOUND;
    }
    session->n_marks--;
    memmove(&session->marks[index], &session->marks[index + 1],
            (session->n_marks - index) * sizeof *session->marks);
    return SH_OK;
}

enum sh_status sh_session_set_tag(struct sh_session *session, const struct sh_tag *tag)
{
    size_t i = 0;
    if (tag->key[0] == '\0') {
        return SH_ERR_ARGUMENT;
    }
    while (i < session->n_tags && strcmp(session->tags[i].key, tag->key) != 0) {
        i++;
    }
    if (tag->value[0] == '\0') {
        if (i < session->n_tags) {
            session->n_tags--;
            memmove(&session->tags[i], &session->tags[i + 1],
                    (session->n_tags - i) * sizeof *session->tags);
        }
        return SH_OK;
    }
    if (i == SH_SESSION_TAGS_MAX) {
        return SH_ERR_FULL;
    }
    session->tags[i] = *tag;
    session->n_tags += i == session->n_tags ? 1 : 0;
    return SH_OK;
}

enum sh_status
sh_session_add_gap(struct sh_session *session, size_t stream, const struct sh_gap *gap)
{
    if (stream >= session->n_streams || gap->n_frames == 0 ||
        gap->n_frames > UINT64_MAX - gap->frame) {
        return SH_ERR_ARGUMENT;
    }
    struct sh_session_stream *to = &session->streams[stream];
    if (to->n_gaps > 0) {
        struct sh_gap *last = &to->gaps[to->n_gaps - 1];
        uint64_t end = last->frame + last->n_frames;
        if (gap->frame < end) {
            return SH_ERR_ARGUMENT;
        }
        if (gap->frame == end) {
            last->n_frames += gap->n_frames;
            return SH_OK;
        }
    }
    void *gaps = to->gaps;
    enum sh_status status = grow(&gaps, to->n_gaps, sizeof *to->gaps);
    if (status != SH_OK) {
        return status;
    }
    to->gaps = gaps;
    to->gaps[to->n_gaps++] = *gap;
    return SH_OK;
}
