/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_TESTS_RECORDING_COLLECTOR_H
#define SH_TESTS_RECORDING_COLLECTOR_H

#include <stdbool.h>
#include <stddef.h>

#include "metrology/channel.h"
#include "recording/recording_reader.h"
#include "sensor/block.h"

/*
 * A sink that keeps all that comes, and fails the running test where a stream's frames do not
 * follow each other, where an anchor comes after its frame, or where a block straddles one.
 */

#define COLLECTOR_ANCHORS_MAX 64u

struct collected_stream {
    size_t n_channels;
    double *raw; /* [n_frames][n_channels] */
    bool *is_filled;
    size_t n_frames;
    size_t capacity_frames;
    size_t n_blocks;
    size_t longest_block_frames;
    struct sh_anchor anchors[COLLECTOR_ANCHORS_MAX];
    size_t n_anchors;
};

struct collector {
    struct collected_stream streams[SH_STREAMS_MAX];
    size_t n_events_left; /* fails with SH_ERR_BUSY when none is left; SIZE_MAX: never */
};

/* A sink into an empty collector. */
struct sh_block_sink collector_open(struct collector *collector);
void collector_close(struct collector *collector);

/*
 * Reads all of a recording into an empty collector, which is to be closed whatever comes back.
 * reader: it as it stands then, to be closed; NULL where the frames are all that is wanted.
 */
enum sh_status collector_read(struct collector *collector,
                              const char *folder,
                              struct sh_recording_reader **reader,
                              struct sh_error *err);

/* Fails the running test unless both hold the same frames, flags and anchors. */
void collector_check_same(const struct collector *got, const struct collector *expected);

#endif
