/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_INTAKE_H
#define SH_APP_INTAKE_H

#include <stdbool.h>
#include <stdint.h>

#include "sensor/block.h"
#include "sensor/frame.h"
#include "sensor/port.h"
#include "sensor/profile.h"

/*
 * One sensor from its port to blocks and anchors: bytes, frames of its framing, the columns its
 * profile names, the common clock. Several intakes side by side feed one sink, each with its
 * own range of stream numbers.
 *
 * The port is read by a thread of its own (sensor/port_reader.h): however long the caller of
 * sh_intake_step is held up, the bytes wait with the times at which they came, up to
 * SH_PORT_READER_BUFFER_BYTES; see there for what happens beyond.
 * Tests: tests/app/test_intake.c, tests/loop/test_held_up.c.
 */
struct sh_intake;

struct sh_intake_config {
    const struct sh_profile *profile; /* kept */
    const char *address;              /* of the port, kept */
    size_t first_stream;              /* number of the profile's first stream in the sink */
    int64_t start_host_us;            /* 0 s of the common clock, host's monotonic time */
    bool is_replay;                   /* bytes from a file: the device's clock is the time */
    int timeout_ms;                   /* how long a step may wait for bytes */
    struct sh_block_sink sink;        /* copied, its context kept */
    struct sh_port **opened; /* borrowed; see sh_port_reader_config; NULL: it opens its port */
};

enum sh_intake_answer {
    SH_INTAKE_DATA,
    SH_INTAKE_NOTHING_YET,
    SH_INTAKE_END /* the port has ended; a sensor that was pulled may be opened again */
};

/* Opens port and stages. Statuses and lines of sh_port_reader_open, sh_assembler_open. */
enum sh_status sh_intake_open(const struct sh_intake_config *config,
                              struct sh_intake **out,
                              struct sh_error *err);

/* Closes and sets *intake to NULL. Takes NULL inside. Nothing is flushed. */
void sh_intake_close(struct sh_intake **intake);

/*
 * Takes what has come, waits at most timeout_ms, and hands it on. Where the port is closed (it
 * has ended) only the clock goes on, so that streams that have stalled are filled. The sink's
 * status, sh_port_read's.
 */
enum sh_status
sh_intake_step(struct sh_intake *intake, enum sh_intake_answer *answer, struct sh_error *err);

/*
 * Tries to open the port again after its end. SH_ERR_NOT_FOUND: still not there. Statuses of
 * sh_port_reader_open.
 */
enum sh_status sh_intake_reopen(struct sh_intake *intake, struct sh_error *err);

/* The end: hands on what has come by now, but of a replay, and all that is held. Statuses as
 * sh_intake_step. */
enum sh_status sh_intake_flush(struct sh_intake *intake, struct sh_error *err);

/* True while the port is open. */
bool sh_intake_is_open(const struct sh_intake *intake);

/* Host's monotonic time of the last reading of the port; 0: there was none. */
int64_t sh_intake_get_arrival_us(const struct sh_intake *intake);

/* How many bytes have come from the port, whatever they were. */
uint64_t sh_intake_get_bytes(const struct sh_intake *intake);

/*
 * What became of the frames of a stream of the profile (0 on). What was damaged before its
 * stream could be told counts with the first.
 */
struct sh_frame_counts sh_intake_get_counts(const struct sh_intake *intake, size_t stream);

/* Bytes that came and found no room; they are among the skipped bytes of the first stream. */
uint64_t sh_intake_get_lost_bytes(const struct sh_intake *intake);

/* Frames that fit no stream of the profile. */
uint64_t sh_intake_get_strange(const struct sh_intake *intake);

#endif
