/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "live/room.h"

#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define CONTROL_BYTES 64u

struct seat {
    unsigned id;              /* 0: free */
    struct sh_viewer *viewer; /* NULL: not yet */
    bool is_watching;
};

struct sh_room {
    pthread_mutex_t lock; /* of all below */
    struct seat seat[SH_ROOM_VIEWERS_MAX];
    unsigned last_id;
    unsigned controller;
    uint64_t seq;
    struct sh_message *log[SH_ROOM_LOG_MAX]; /* a ring; their numbers follow each other */
    size_t first;
    size_t n;
    size_t n_bytes;
};

enum sh_status sh_room_open(uint64_t first_seq, struct sh_room **out)
{
    struct sh_room *room = calloc(1, sizeof *room);
    if (room == NULL) {
        return SH_ERR_MEMORY;
    }
    (void)pthread_mutex_init(&room->lock, NULL);
    room->seq = first_seq;
    *out = room;
    return SH_OK;
}

static void forget_first(struct sh_room *room)
{
    struct sh_message *message = room->log[room->first];
    room->first = (room->first + 1) % SH_ROOM_LOG_MAX;
    room->n--;
    room->n_bytes -= message->n_bytes;
    sh_message_drop(message);
}

void sh_room_close(struct sh_room **room)
{
    if (room == NULL || *room == NULL) {
        return;
    }
    while ((*room)->n > 0) {
        forget_first(*room);
    }
    (void)pthread_mutex_destroy(&(*room)->lock);
    free(*room);
    *room = NULL;
}

static struct seat *find_seat(struct sh_room *room, unsigned id)
{
    for (size_t i = 0; i < SH_ROOM_VIEWERS_MAX; i++) {
        if (room->seat[i].id == id) {
            return &room->seat[i];
        }
    }
    return NULL;
}

/* One who cannot be told any more has been cut off and will leave by himself. */
static void push(struct seat *seat, struct sh_message *message)
{
    if (seat->viewer != NULL && sh_viewer_push(seat->viewer, message) != SH_OK) {
        seat->viewer = NULL;
    }
}

static void push_all(struct sh_room *room, struct sh_message *message, bool to_watchers)
{
    for (size_t i = 0; i < SH_ROOM_VIEWERS_MAX; i++) {
        if (!to_watchers || room->seat[i].is_watching) {
            push(&room->seat[i], message);
        }
    }
}

static void set_controller(struct sh_room *room, unsigned id)
{
    char text[CONTROL_BYTES];
    if (room->controller == id) {
        return;
    }
    room->controller = id;
    (void)snprintf(text, sizeof text,
                   id != 0 ? "{\"type\":\"control\",\"controller\":%u}"
                           : "{\"type\":\"control\",\"controller\":null}",
                   id);
    struct sh_message *message = sh_message_make(text, strlen(text), 0);
    if (message != NULL) {
        push_all(room, message, false);
        sh_message_drop(message);
    }
}

unsigned sh_room_enter(struct sh_room *room)
{
    unsigned id = 0;
    (void)pthread_mutex_lock(&room->lock);
    struct seat *seat = find_seat(room, 0);
    if (seat != NULL) {
        id = ++room->last_id;
        *seat = (struct seat){.id = id};
        if (room->controller == 0) {
            set_controller(room, id);
        }
    }
    (void)pthread_mutex_unlock(&room->lock);
    return id;
}

static enum sh_status push_text(struct sh_viewer *viewer, const char *text)
{
    struct sh_message *message = sh_message_make(text, strlen(text), 0);
    enum sh_status status = message != NULL ? sh_viewer_push(viewer, message) : SH_ERR_MEMORY;
    sh_message_drop(message);
    return status;
}

static enum sh_status
push_missed(const struct sh_room *room, struct sh_viewer *viewer, uint64_t since)
{
    const bool is_complete = since <= room->seq && room->seq - since <= room->n;
    enum sh_status status = SH_OK;
    if (!is_complete) {
        return push_text(viewer, "{\"type\":\"reload\"}");
    }
    for (size_t i = room->n - (size_t)(room->seq - since); i < room->n && status == SH_OK;
         i++) {
        status = sh_viewer_push(viewer, room->log[(room->first + i) % SH_ROOM_LOG_MAX]);
    }
    return status;
}

enum sh_status sh_room_join(struct sh_room *room,
                            unsigned id,
                            struct sh_viewer *viewer,
                            const char *hello,
                            uint64_t since)
{
    enum sh_status status = SH_ERR_ARGUMENT;
    (void)pthread_mutex_lock(&room->lock);
    struct seat *seat = id != 0 ? find_seat(room, id) : NULL;
    if (seat != NULL && seat->viewer == NULL) {
        status = push_text(viewer, hello);
        status = status == SH_OK ? push_missed(room, viewer, since) : status;
        seat->viewer = status == SH_OK ? viewer : NULL;
    }
    (void)pthread_mutex_unlock(&room->lock);
    return status;
}

void sh_room_leave(struct sh_room *room, unsigned id)
{
    (void)pthread_mutex_lock(&room->lock);
    struct seat *seat = id != 0 ? find_seat(room, id) : NULL;
    if (seat != NULL) {
        *seat = (struct seat){0};
        if (room->controller == id) {
            set_controller(room, 0);
        }
    }
    (void)pthread_mutex_unlock(&room->lock);
}

uint64_t sh_room_get_seq(struct sh_room *room)
{
    (void)pthread_mutex_lock(&room->lock);
    uint64_t seq = room->seq;
    (void)pthread_mutex_unlock(&room->lock);
    return seq;
}

unsigned sh_room_get_controller(struct sh_room *room)
{
    (void)pthread_mutex_lock(&room->lock);
    unsigned controller = room->controller;
    (void)pthread_mutex_unlock(&room->lock);
    return controller;
}

void sh_room_control(struct sh_room *room, unsigned id, bool take)
{
    (void)pthread_mutex_lock(&room->lock);
    if (id != 0 && find_seat(room, id) != NULL) {
        if (take) {
            set_controller(room, id);
        } else if (room->controller == id) {
            set_controller(room, 0);
        }
    }
    (void)pthread_mutex_unlock(&room->lock);
}

void sh_room_watch(struct sh_room *room, unsigned id, bool is_on)
{
    (void)pthread_mutex_lock(&room->lock);
    struct seat *seat = id != 0 ? find_seat(room, id) : NULL;
    if (seat != NULL) {
        seat->is_watching = is_on;
    }
    (void)pthread_mutex_unlock(&room->lock);
}

bool sh_room_is_watched(struct sh_room *room)
{
    bool is_watched = false;
    (void)pthread_mutex_lock(&room->lock);
    for (size_t i = 0; i < SH_ROOM_VIEWERS_MAX; i++) {
        is_watched = is_watched || room->seat[i].is_watching;
    }
    (void)pthread_mutex_unlock(&room->lock);
    return is_watched;
}

/* Appends to the log, which holds it; what is oldest goes. */
static void keep(struct sh_room *room, struct sh_message *message)
{
    while (room->n > 0 && (room->n == SH_ROOM_LOG_MAX ||
                           room->n_bytes + message->n_bytes > SH_ROOM_LOG_BYTES)) {
        forget_first(room);
    }
    room->log[(room->first + room->n) % SH_ROOM_LOG_MAX] = sh_message_hold(message);
    room->n++;
    room->n_bytes += message->n_bytes;
    room->seq = message->seq;
}

enum sh_status
sh_room_tell(struct sh_room *room, enum sh_room_audience audience, const char *text)
{
    (void)pthread_mutex_lock(&room->lock);
    const uint64_t seq = audience == SH_ROOM_LOGGED ? room->seq + 1 : 0;
    struct sh_message *message = sh_message_make(text, strlen(text), seq);
    if (message != NULL) {
        if (audience == SH_ROOM_LOGGED) {
            keep(room, message);
        }
        push_all(room, message, audience == SH_ROOM_WATCHERS);
    }
    (void)pthread_mutex_unlock(&room->lock);
    sh_message_drop(message);
    return message != NULL ? SH_OK : SH_ERR_MEMORY;
}

void sh_room_answer(struct sh_room *room, unsigned id, const char *text)
{
    struct sh_message *message = sh_message_make(text, strlen(text), 0);
    (void)pthread_mutex_lock(&room->lock);
    struct seat *seat = id != 0 && message != NULL ? find_seat(room, id) : NULL;
    if (seat != NULL) {
        push(seat, message);
    }
    (void)pthread_mutex_unlock(&room->lock);
    sh_message_drop(message);
}
