/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sim/sensor_stream.h"

#include <inttypes.h>
#include <math.h>
#include <stdio.h>

#include "sim/chance.h"
#include "sim/range.h"

#define LINE_BYTES  256u /* 16 counts of 12 characters and the time */
#define SPOILT_BYTE 0xffu

static enum sh_status check_stream(const struct sh_stream *stream, struct sh_error *err)
{
    const struct sh_range range[] = {
        {"rate_hz", stream->rate_hz, 1.0, 1e6},
        {"n_channels", (double)stream->n_channels, 1.0, SH_STREAM_CHANNELS_MAX},
    };
    const enum sh_status status = sh_range_check(range, sizeof range / sizeof range[0], err);
    if (status != SH_OK) {
        return status;
    }
    for (size_t c = 0; c < stream->n_channels; c++) {
        if (stream->channel[c].is_physical) {
            return sh_error_set(err, SH_ERR_UNSUPPORTED, stream->name, "give it counts",
                                "a sensor sends counts, no values");
        }
    }
    return SH_OK;
}

static enum sh_status check_packets(const struct sh_sensor_stream_config *config,
                                    struct sh_error *err)
{
    const struct sh_range range = {"packet_frames", (double)config->packet_frames, 1.0,
                                   SH_PACKET_FRAME_FRAMES_MAX};
    const enum sh_status status = sh_range_check(&range, 1, err);
    if (status != SH_OK) {
        return status;
    }
    if (config->format != SH_PACKET_FORMAT_INT16 && config->format != SH_PACKET_FORMAT_INT32) {
        return sh_error_set(err, SH_ERR_ARGUMENT, "format", "choose 16 or 32 bits",
                            "no such sample format");
    }
    for (size_t i = 0; i < config->n_streams; i++) {
        const size_t n_bytes =
            config->packet_frames * config->stream[i]->n_channels * (size_t)config->format;
        if (SH_PACKET_FRAME_HEAD_BYTES + n_bytes + 2u > SH_PACKET_FRAME_BODY_MAX) {
            return sh_error_set(err, SH_ERR_ARGUMENT, "packet_frames",
                                "put fewer frames into a packet",
                                "a packet of %zu frames is too long", config->packet_frames);
        }
    }
    return SH_OK;
}

enum sh_status sh_sensor_stream_init(struct sh_sensor_stream *stream,
                                     const struct sh_sensor_stream_config *config,
                                     const struct sh_byte_sink *sink,
                                     struct sh_error *err)
{
    const bool is_text = config->framing == SH_SENSOR_FRAMING_TEXT;
    const struct sh_range range[] = {
        {"n_streams", (double)config->n_streams, 1.0, is_text ? 1.0 : SH_STREAMS_MAX},
        {"damaged_ratio", config->damaged_ratio, 0.0, 1.0},
    };
    enum sh_status status = sh_range_check(range, sizeof range / sizeof range[0], err);
    for (size_t i = 0; i < config->n_streams && status == SH_OK; i++) {
        status = check_stream(config->stream[i], err);
    }
    if (status == SH_OK && !is_text) {
        status = check_packets(config, err);
    }
    if (status != SH_OK) {
        return status;
    }
    stream->config = *config;
    stream->sink = *sink;
    sh_sensor_stream_reset(stream);
    return SH_OK;
}

void sh_sensor_stream_reset(struct sh_sensor_stream *stream)
{
    sh_random_init(&stream->random, stream->config.seed);
    stream->has_begun = false;
    stream->n_frames = 0;
    stream->n_damaged = 0;
    for (size_t i = 0; i < SH_STREAMS_MAX; i++) {
        stream->lane[i].n_frames = 0;
        stream->lane[i].sequence = 0;
    }
}

uint32_t sh_sensor_stream_get_device_time_us(const struct sh_sensor_stream *stream,
                                             size_t index,
                                             uint64_t frame)
{
    const struct sh_stream *source = stream->config.stream[index];
    const double since_us = 1e6 * (source->offset_s + (double)frame / source->rate_hz);
    const int64_t count_us = (int64_t)nearbyint(since_us) + (int64_t)stream->config.start_us;
    return (uint32_t)((uint64_t)count_us & UINT32_MAX);
}

/* Sends one line or packet, now and then with a byte spoilt on the way. */
static enum sh_status send_bytes(struct sh_sensor_stream *stream,
                                 uint8_t *bytes,
                                 size_t n_bytes,
                                 struct sh_error *err)
{
    const bool is_text = stream->config.framing == SH_SENSOR_FRAMING_TEXT;
    if (stream->config.damaged_ratio > 0.0 &&
        sh_chance_is(&stream->random, stream->config.damaged_ratio)) {
        const uint64_t where = sh_random_get_below(&stream->random, n_bytes - 1);
        const unsigned bit = 1u << sh_random_get_below(&stream->random, 8);
        /* lines have no check sum: one flipped bit could make another number */
        bytes[where] = (uint8_t)(is_text ? SPOILT_BYTE : bytes[where] ^ bit);
        stream->n_damaged++;
    }
    return stream->sink.bytes(stream->sink.context, bytes, n_bytes, err);
}

/* A sample as a count; false where it is none. */
static bool get_count(double raw, int32_t *out)
{
    if (!(raw >= INT32_MIN && raw <= INT32_MAX) || fabs(raw - nearbyint(raw)) > 0.0) {
        return false;
    }
    *out = (int32_t)raw;
    return true;
}

static enum sh_status refuse_count(double raw, struct sh_error *err)
{
    return sh_error_set(err, SH_ERR_ARGUMENT, NULL, "send counts of 32 bits",
                        "a sensor cannot send %g", raw);
}

static enum sh_status send_header(struct sh_sensor_stream *stream, struct sh_error *err)
{
    char line[LINE_BYTES];
    int n = snprintf(line, sizeof line, "micros");
    for (size_t c = 0; c < stream->config.stream[0]->n_channels; c++) {
        n += snprintf(line + n, sizeof line - (size_t)n, ",count");
    }
    n += snprintf(line + n, sizeof line - (size_t)n, "\n");
    stream->has_begun = true;
    return stream->sink.bytes(stream->sink.context, (const uint8_t *)line, (size_t)n, err);
}

static enum sh_status send_line(struct sh_sensor_stream *stream,
                                uint64_t frame,
                                const double *raw,
                                struct sh_error *err)
{
    char line[LINE_BYTES];
    if (stream->config.has_header && !stream->has_begun) {
        const enum sh_status status = send_header(stream, err);
        if (status != SH_OK) {
            return status;
        }
    }
    int n = snprintf(line, sizeof line, "%" PRIu32,
                     sh_sensor_stream_get_device_time_us(stream, 0, frame));
    for (size_t c = 0; c < stream->config.stream[0]->n_channels; c++) {
        int32_t count = 0;
        if (!get_count(raw[c], &count)) {
            return refuse_count(raw[c], err);
        }
        n += snprintf(line + n, sizeof line - (size_t)n, ",%" PRId32, count);
    }
    n += snprintf(line + n, sizeof line - (size_t)n, "\n");
    stream->n_frames++;
    return send_bytes(stream, (uint8_t *)line, (size_t)n, err);
}

/* Sends the packet in the making, if there is any of it. */
static enum sh_status
send_packet(struct sh_sensor_stream *stream, size_t index, struct sh_error *err)
{
    struct sh_sensor_stream_lane *lane = &stream->lane[index];
    const struct sh_stream *source = stream->config.stream[index];
    uint8_t bytes[SH_PACKET_FRAME_BYTES_MAX];
    size_t n_bytes = 0;
    if (lane->n_frames == 0) {
        return SH_OK;
    }
    const struct sh_packet packet = {
        .stream = index,
        .sequence = lane->sequence,
        .device_time_us = sh_sensor_stream_get_device_time_us(stream, index, lane->first_frame),
        .period_ns = (uint32_t)nearbyint(1e9 / source->rate_hz),
        .n_frames = lane->n_frames,
        .n_channels = source->n_channels,
        .format = stream->config.format,
        .counts = lane->counts,
    };
    const enum sh_status status = sh_packet_frame_encode(&packet, bytes, &n_bytes);
    if (status != SH_OK) {
        return sh_error_set(err, status, source->name, "send 32 bits",
                            "a count does not fit the packet's format");
    }
    lane->sequence++;
    stream->n_frames += lane->n_frames;
    lane->n_frames = 0;
    return send_bytes(stream, bytes, n_bytes, err);
}

static enum sh_status add_frame(struct sh_sensor_stream *stream,
                                size_t index,
                                uint64_t frame,
                                const double *raw,
                                struct sh_error *err)
{
    struct sh_sensor_stream_lane *lane = &stream->lane[index];
    const size_t n_channels = stream->config.stream[index]->n_channels;
    if (lane->n_frames == 0) {
        lane->first_frame = frame;
    }
    for (size_t c = 0; c < n_channels; c++) {
        if (!get_count(raw[c], &lane->counts[lane->n_frames * n_channels + c])) {
            return refuse_count(raw[c], err);
        }
    }
    lane->n_frames++;
    return lane->n_frames == stream->config.packet_frames ? send_packet(stream, index, err)
                                                          : SH_OK;
}

/*
 * Lost frames end the packet before them. Every full packet's end on the grid of frames counts
 * as one lost packet, so that the sequence tells of it however the loss is cut in blocks; a
 * loss between two ends leaves the sequence whole, as if the device had dropped the frames.
 */
static enum sh_status
skip_frames(struct sh_sensor_stream *stream, const struct sh_block *block, struct sh_error *err)
{
    struct sh_sensor_stream_lane *lane = &stream->lane[block->stream];
    const size_t packet_frames = stream->config.packet_frames;
    const enum sh_status status = send_packet(stream, block->stream, err);
    if (status != SH_OK) {
        return status;
    }
    const uint64_t end = block->first_frame + block->n_frames;
    const uint64_t n_packets = end / packet_frames - block->first_frame / packet_frames;
    lane->sequence = (uint16_t)(lane->sequence + n_packets);
    return SH_OK;
}

static enum sh_status
push_frames(struct sh_sensor_stream *stream, const struct sh_block *block, struct sh_error *err)
{
    const bool is_text = stream->config.framing == SH_SENSOR_FRAMING_TEXT;
    enum sh_status status = SH_OK;
    for (size_t i = 0; i < block->n_frames && status == SH_OK; i++) {
        const uint64_t frame = block->first_frame + i;
        const double *raw = &block->raw[i * block->n_channels];
        status = is_text ? send_line(stream, frame, raw, err)
                         : add_frame(stream, block->stream, frame, raw, err);
    }
    return status;
}

enum sh_status sh_sensor_stream_push(struct sh_sensor_stream *stream,
                                     const struct sh_block *block,
                                     struct sh_error *err)
{
    const struct sh_sensor_stream_config *config = &stream->config;
    if (block->stream >= config->n_streams ||
        block->n_channels != config->stream[block->stream]->n_channels) {
        return sh_error_set(err, SH_ERR_ARGUMENT, NULL, NULL,
                            "a block of stream %zu with %zu channels is not this sensor's",
                            block->stream, block->n_channels);
    }
    if (!block->is_filled) {
        return push_frames(stream, block, err);
    }
    return config->framing == SH_SENSOR_FRAMING_TEXT ? SH_OK : skip_frames(stream, block, err);
}

enum sh_status sh_sensor_stream_flush(struct sh_sensor_stream *stream, struct sh_error *err)
{
    enum sh_status status = SH_OK;
    for (size_t i = 0; i < stream->config.n_streams && status == SH_OK; i++) {
        status = send_packet(stream, i, err);
    }
    return status;
}

static enum sh_status
take_block(void *context, const struct sh_block *block, struct sh_error *err)
{
    return sh_sensor_stream_push(context, block, err);
}

static enum sh_status
pass_over(void *context, size_t stream, const struct sh_anchor *anchor, struct sh_error *err)
{
    (void)context;
    (void)stream;
    (void)anchor;
    (void)err;
    return SH_OK;
}

struct sh_block_sink sh_sensor_stream_get_sink(struct sh_sensor_stream *stream)
{
    return (struct sh_block_sink){.block = take_block, .anchor = pass_over, .context = stream};
}
