/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_LIVE_QUEUE_H
#define SH_APP_LIVE_QUEUE_H

#include <jansson.h>
#include <pthread.h>
#include <stdbool.h>

/*
 * Commands of the page on their way from the server's threads to the thread that captures:
 * bounded, and taken out without waiting. Any thread. Test: tests/app/test_live_queue.c.
 */
#define SH_LIVE_QUEUE_MAX 64u

struct sh_live_command {
    unsigned viewer;
    json_int_t id;
    json_t *object; /* owned by whoever took the command out */
};

struct sh_live_queue {
    pthread_mutex_t lock;                              /* of all below */
    struct sh_live_command command[SH_LIVE_QUEUE_MAX]; /* a ring */
    size_t first;
    size_t n;
};

void sh_live_queue_init(struct sh_live_queue *queue);

/* Drops what is still in it. */
void sh_live_queue_close(struct sh_live_queue *queue);

/* Puts a copy of object in. False: the queue is full, or there is no memory. */
bool sh_live_queue_put(struct sh_live_queue *queue,
                       unsigned viewer,
                       json_int_t id,
                       const json_t *object);

/* Takes the first out, to be closed. False: there is none. */
bool sh_live_queue_find(struct sh_live_queue *queue, struct sh_live_command *out);

void sh_live_command_close(struct sh_live_command *command);

#endif
