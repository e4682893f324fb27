/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SENSOR_PORT_READER_H
#define SH_SENSOR_PORT_READER_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/status.h"
#include "sensor/piece_queue.h"
#include "sensor/port.h"

/*
 * A port that is read by a thread of its own, so that whoever takes its bytes may be held up
 * (by a slow disk, an analysis, a loaded machine) and finds them all, each piece with the time
 * at which it really arrived.
 *
 * The pieces wait in a queue of SH_PORT_READER_BUFFER_BYTES: 45 s of a line at 921,600 baud,
 * over a minute of four channels at 1000 Hz and three at 3200 Hz in packets of 32-bit counts.
 * What happens once it is full: files, pipes and connections are read no further, so that their
 * writer waits and nothing is lost; so it is with any port under is_patient. A terminal's
 * writer (a serial line has no flow control) cannot be made to wait: what finds no room is
 * dropped, counted in sh_port_reader_get_lost_bytes, and the next piece says follows_loss.
 *
 * The thread also keeps a clock of how long it has listened: the time it spent waiting for
 * bytes and reading them. A time in which it could not run (the machine slept or was
 * overloaded) is not in it, so a sensor's silence, measured by it, is never the machine's own
 * lateness.
 *
 * One thread at a time calls these functions. A port that has ended is closed at once by the
 * reader's thread. Test: tests/sensor/test_port_reader.c.
 */

#define SH_PORT_READER_BUFFER_BYTES ((size_t)4194304)
#define SH_PORT_READER_PIECE_BYTES  65536u /* the longest piece; a buffer holds one at least */

struct sh_port_reader; /* opaque */

struct sh_port_reader_config {
    struct sh_port_config port; /* its timeout: how long a close may take; address kept */
    size_t buffer_bytes;        /* SH_PORT_READER_PIECE_BYTES + SH_PIECE_QUEUE_HEAD_BYTES on */
    bool is_patient;            /* never lose a byte: bytes of an earlier time */
    struct sh_port **opened;    /* a terminal that is open already is taken out of it; NULL, or
                                   of NULL: the reader opens the port */
};

/* The port's defaults, SH_PORT_READER_BUFFER_BYTES, not patient. */
struct sh_port_reader_config sh_port_reader_config_default(void);

/*
 * Opens the port on the caller's thread, or goes on with one that is open (sh_port_resume),
 * and begins to read it; *out is set only on success.
 * Statuses and lines of sh_port_open; SH_ERR_ARGUMENT also for buffer_bytes; SH_ERR_MEMORY;
 * SH_ERR_IO: no thread can be had. Signals are left to the other threads.
 */
enum sh_status sh_port_reader_open(const struct sh_port_reader_config *config,
                                   struct sh_port_reader **out,
                                   struct sh_error *err);

/* What a call of sh_port_reader_read has brought. */
struct sh_port_reader_reading {
    enum sh_port_answer answer;
    struct sh_piece piece; /* without bytes: the times up to which nothing more had come */
};

/*
 * Takes up to n_bytes_max (1 or more) bytes of one piece, the oldest; where there is none waits
 * for one, timeout_ms (0 or more) at most. SH_PORT_END and a failure come behind the last
 * piece, and again each time. SH_ERR_ARGUMENT (no room to read into); statuses and lines of
 * sh_port_read. Cost: one copy under a lock that the thread never holds for longer than one.
 */
enum sh_status sh_port_reader_read(struct sh_port_reader *reader,
                                   uint8_t *bytes,
                                   size_t n_bytes_max,
                                   int timeout_ms,
                                   struct sh_port_reader_reading *reading,
                                   struct sh_error *err);

/* Bytes that found no room, so far. */
uint64_t sh_port_reader_get_lost_bytes(struct sh_port_reader *reader);

/*
 * Ends the thread, closes the port and sets *reader to NULL; what was not taken is dropped.
 * Takes the port's timeout at the longest. Takes NULL inside.
 */
void sh_port_reader_close(struct sh_port_reader **reader);

#endif
