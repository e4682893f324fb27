/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SENSOR_PIECE_QUEUE_H
#define SH_SENSOR_PIECE_QUEUE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/status.h"

/*
 * A bounded queue of pieces of bytes, each with when it was read: first in, first out, in one
 * ring whose memory is touched only as far as it has ever been filled. One thread at a time.
 * Test: tests/sensor/test_piece_queue.c.
 */

#define SH_PIECE_QUEUE_HEAD_BYTES 32u /* room a piece takes besides its bytes */

/* What goes with a piece. */
struct sh_piece {
    size_t n_bytes;
    int64_t host_time_us; /* this machine's monotonic clock just after they were read */
    int64_t listened_us;  /* see sensor/port_reader.h */
    bool follows_loss;    /* bytes before its first were lost */
};

struct sh_piece_queue {
    uint8_t *ring; /* owned, [size_bytes] */
    size_t size_bytes;
    size_t first;
    size_t n_used_bytes;
};

/* Opens an empty queue of size_bytes (heads included). SH_ERR_MEMORY: *queue stays closed. */
enum sh_status sh_piece_queue_open(struct sh_piece_queue *queue, size_t size_bytes);

/* Frees it. Takes a closed or zeroed one. */
void sh_piece_queue_close(struct sh_piece_queue *queue);

/* Is there room for a piece of n_bytes? */
bool sh_piece_queue_has_room(const struct sh_piece_queue *queue, size_t n_bytes);

/*
 * Puts a piece (bytes[piece->n_bytes], 1 or more, copied) at the end. SH_ERR_FULL: no room,
 * and nothing has changed. Cost: one copy.
 */
enum sh_status sh_piece_queue_push(struct sh_piece_queue *queue,
                                   const struct sh_piece *piece,
                                   const uint8_t *bytes);

/*
 * Takes the first piece, or as much of it as n_bytes_max (1 or more) leaves room for: the rest
 * is then a piece of its own, read at the same time. False: the queue is empty.
 */
bool sh_piece_queue_find(struct sh_piece_queue *queue,
                         uint8_t *bytes,
                         size_t n_bytes_max,
                         struct sh_piece *piece);

#endif
