/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SIM_SENSOR_STREAM_H
#define SH_SIM_SENSOR_STREAM_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "sensor/block.h"
#include "sensor/packet_frame.h"
#include "signal/random.h"

/*
 * Writes blocks of counts as the bytes that a sensor sends: lines of numbers
 * (sensor/text_frame.h) or packets (sensor/packet_frame.h), with the device's own counter of
 * microseconds. Filled blocks were lost on the way: their frames are left out, counter and
 * packet sequence go on. When the bytes are sent is up to the caller.
 *
 * A plain value without heap (some 66 kB). However the blocks are cut, the bytes of one stream
 * are the same; several streams take turns as their blocks come.
 * Test: tests/sim/test_sensor_stream.c.
 */

enum sh_sensor_framing { SH_SENSOR_FRAMING_TEXT, SH_SENSOR_FRAMING_PACKET };

#define SH_SENSOR_STREAM_SAMPLES_MAX                                                           \
    ((SH_PACKET_FRAME_BODY_MAX - SH_PACKET_FRAME_HEAD_BYTES - 2u) / 2u)

/* A status other than SH_OK stops the stream and comes back from it. */
struct sh_byte_sink {
    enum sh_status (*bytes)(void *context,
                            const uint8_t *bytes,
                            size_t n_bytes,
                            struct sh_error *err);
    void *context;
};

struct sh_sensor_stream_config {
    enum sh_sensor_framing framing;
    size_t n_streams; /* of one device: 1 to SH_STREAMS_MAX; lines carry 1 */
    const struct sh_stream *const *stream; /* [n_streams]: rate, offset, channels; kept */
    uint32_t start_us;                     /* the device's counter at time 0 */
    bool has_header;                       /* lines: a first line that names the columns */
    size_t packet_frames;                  /* packets: frames in each, 1 to 255 */
    enum sh_packet_format format;          /* packets */
    double damaged_ratio; /* of lines or packets that arrive with one byte spoilt, 0 to 1 */
    uint64_t seed;        /* of that damage */
};

/* One stream's packet in the making. */
struct sh_sensor_stream_lane {
    uint64_t first_frame;
    size_t n_frames;
    uint16_t sequence;
    int32_t counts[SH_SENSOR_STREAM_SAMPLES_MAX];
};

struct sh_sensor_stream {
    struct sh_sensor_stream_config config;
    struct sh_byte_sink sink;
    struct sh_random random;
    bool has_begun; /* the header has been sent */
    uint64_t n_frames;
    uint64_t n_damaged; /* lines or packets that were spoilt */
    struct sh_sensor_stream_lane lane[SH_STREAMS_MAX];
};

/*
 * Makes a stream that has sent nothing. copies config and sink, keeps config->stream and what
 * it points to, and the sink's context. SH_ERR_ARGUMENT: a setting is out of its range or a
 * packet would be too long; SH_ERR_UNSUPPORTED: a channel has no counts (is_physical).
 */
enum sh_status sh_sensor_stream_init(struct sh_sensor_stream *stream,
                                     const struct sh_sensor_stream_config *config,
                                     const struct sh_byte_sink *sink,
                                     struct sh_error *err);

/*
 * Sends the frames of a block. SH_ERR_ARGUMENT: the block is not of these streams, or a count
 * is not whole or does not fit the framing. The sink's status.
 */
enum sh_status sh_sensor_stream_push(struct sh_sensor_stream *stream,
                                     const struct sh_block *block,
                                     struct sh_error *err);

/* Sends packets that are not full. Twice adds nothing. The sink's status. */
enum sh_status sh_sensor_stream_flush(struct sh_sensor_stream *stream, struct sh_error *err);

/* As after init. */
void sh_sensor_stream_reset(struct sh_sensor_stream *stream);

/* A sink of blocks that pushes into stream (which it keeps); anchors are passed over. */
struct sh_block_sink sh_sensor_stream_get_sink(struct sh_sensor_stream *stream);

/* What the device's counter shows at a frame of a stream: it counts by its own clock. */
uint32_t sh_sensor_stream_get_device_time_us(const struct sh_sensor_stream *stream,
                                             size_t index,
                                             uint64_t frame);

#endif
