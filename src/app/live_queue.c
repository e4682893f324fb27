/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/live_queue.h"

void sh_live_queue_init(struct sh_live_queue *queue)
{
    *queue = (struct sh_live_queue){.n = 0};
    (void)pthread_mutex_init(&queue->lock, NULL);
}

void sh_live_command_close(struct sh_live_command *command)
{
    json_decref(command->object);
    *command = (struct sh_live_command){.object = NULL};
}

void sh_live_queue_close(struct sh_live_queue *queue)
{
    struct sh_live_command command;
    while (sh_live_queue_find(queue, &command)) {
        sh_live_command_close(&command);
    }
    (void)pthread_mutex_destroy(&queue->lock);
}

bool sh_live_queue_put(struct sh_live_queue *queue,
                       unsigned viewer,
                       json_int_t id,
                       const json_t *object)
{
    json_t *copy = json_deep_copy(object);
    bool has_room = false;
    if (copy == NULL) {
        return false;
    }
    (void)pthread_mutex_lock(&queue->lock);
    has_room = queue->n < SH_LIVE_QUEUE_MAX;
    if (has_room) {
        queue->command[(queue->first + queue->n) % SH_LIVE_QUEUE_MAX] =
            (struct sh_live_command){viewer, id, copy};
        queue->n++;
    }
    (void)pthread_mutex_unlock(&queue->lock);
    if (!has_room) {
        json_decref(copy);
    }
    return has_room;
}

bool sh_live_queue_find(struct sh_live_queue *queue, struct sh_live_command *out)
{
    (void)pthread_mutex_lock(&queue->lock);
    const bool has_one = queue->n > 0;
    if (has_one) {
        *out = queue->command[queue->first];
        queue->first = (queue->first + 1) % SH_LIVE_QUEUE_MAX;
        queue->n--;
    }
    (void)pthread_mutex_unlock(&queue->lock);
    return has_one;
}
