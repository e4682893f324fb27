/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sensor/piece_queue.h"

#include <stdlib.h>
#include <string.h>

_Static_assert(sizeof(struct sh_piece) <= SH_PIECE_QUEUE_HEAD_BYTES, "a head has its room");

enum sh_status sh_piece_queue_open(struct sh_piece_queue *queue, size_t size_bytes)
{
    *queue = (struct sh_piece_queue){0};
    uint8_t *ring = malloc(size_bytes);
    if (ring == NULL) {
        return SH_ERR_MEMORY;
    }
    *queue = (struct sh_piece_queue){.ring = ring, .size_bytes = size_bytes};
    return SH_OK;
}

void sh_piece_queue_close(struct sh_piece_queue *queue)
{
    free(queue->ring);
    *queue = (struct sh_piece_queue){0};
}

bool sh_piece_queue_has_room(const struct sh_piece_queue *queue, size_t n_bytes)
{
    size_t left_bytes = queue->size_bytes - queue->n_used_bytes;
    return left_bytes >= SH_PIECE_QUEUE_HEAD_BYTES &&
           left_bytes - SH_PIECE_QUEUE_HEAD_BYTES >= n_bytes;
}

/* Bytes up to the ring's end, of n that begin so far behind the first. */
static size_t
split(const struct sh_piece_queue *queue, size_t offset, size_t n_bytes, size_t *begin)
{
    *begin = (queue->first + offset) % queue->size_bytes;
    size_t to_end = queue->size_bytes - *begin;
    return n_bytes < to_end ? n_bytes : to_end;
}

static void put(struct sh_piece_queue *queue, size_t offset, const void *from, size_t n_bytes)
{
    size_t begin = 0;
    const size_t n_first = split(queue, offset, n_bytes, &begin);
    memcpy(queue->ring + begin, from, n_first);
    memcpy(queue->ring, (const uint8_t *)from + n_first, n_bytes - n_first);
}

static void get(const struct sh_piece_queue *queue, size_t offset, void *to, size_t n_bytes)
{
    size_t begin = 0;
    const size_t n_first = split(queue, offset, n_bytes, &begin);
    memcpy(to, queue->ring + begin, n_first);
    memcpy((uint8_t *)to + n_first, queue->ring, n_bytes - n_first);
}

static void drop(struct sh_piece_queue *queue, size_t n_bytes)
{
    queue->n_used_bytes -= n_bytes;
    queue->first = queue->n_used_bytes > 0 ? (queue->first + n_bytes) % queue->size_bytes : 0;
}

enum sh_status sh_piece_queue_push(struct sh_piece_queue *queue,
                                   const struct sh_piece *piece,
                                   const uint8_t *bytes)
{
    if (!sh_piece_queue_has_room(queue, piece->n_bytes)) {
        return SH_ERR_FULL;
    }
    put(queue, queue->n_used_bytes, piece, sizeof *piece);
    put(queue, queue->n_used_bytes + SH_PIECE_QUEUE_HEAD_BYTES, bytes, piece->n_bytes);
    queue->n_used_bytes += SH_PIECE_QUEUE_HEAD_BYTES + piece->n_bytes;
    return SH_OK;
}

bool sh_piece_queue_find(struct sh_piece_queue *queue,
                         uint8_t *bytes,
                         size_t n_bytes_max,
                         struct sh_piece *piece)
{
    if (queue->n_used_bytes == 0) {
        return false;
    }
    get(queue, 0, piece, sizeof *piece);
    struct sh_piece rest = *piece;
    piece->n_bytes = piece->n_bytes < n_bytes_max ? piece->n_bytes : n_bytes_max;
    get(queue, SH_PIECE_QUEUE_HEAD_BYTES, bytes, piece->n_bytes);
    rest.n_bytes -= piece->n_bytes;
    rest.follows_loss = false;
    if (rest.n_bytes > 0) {
        drop(queue, piece->n_bytes);
        put(queue, 0, &rest, sizeof rest); /* over what has just been taken */
    } else {
        drop(queue, SH_PIECE_QUEUE_HEAD_BYTES + piece->n_bytes);
    }
    return true;
}
