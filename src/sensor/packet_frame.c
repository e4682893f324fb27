/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sensor/packet_frame.h"

#include "sensor/crc.h"

#define CRC_BYTES 2u

/* Where the fields lie in an unstuffed packet. */
enum offset {
    OFFSET_VERSION = 0,
    OFFSET_SEQUENCE = 1,
    OFFSET_TIME = 3,
    OFFSET_PERIOD = 7,
    OFFSET_FRAMES = 11,
    OFFSET_CHANNELS = 12,
    OFFSET_FORMAT = 13
};

/* The head of a packet that can be read, and its samples. */
struct body {
    size_t stream;
    uint16_t sequence;
    uint32_t device_time_us;
    uint32_t period_ns;
    size_t n_frames;
    size_t n_channels;
    size_t n_sample_bytes;
    const uint8_t *samples;
};

static uint32_t get_little(const uint8_t *bytes, size_t n_bytes)
{
    uint32_t value = 0;
    for (size_t i = 0; i < n_bytes; i++) {
        value |= (uint32_t)bytes[i] << (8 * i);
    }
    return value;
}

static void put_little(uint8_t *bytes, size_t n_bytes, uint32_t value)
{
    for (size_t i = 0; i < n_bytes; i++) {
        bytes[i] = (uint8_t)(value >> (8 * i));
    }
}

/* The two's complement of n_bytes as a signed number. */
static int32_t get_sample(const uint8_t *bytes, size_t n_bytes)
{
    uint32_t value = get_little(bytes, n_bytes);
    if (n_bytes == sizeof(int16_t)) {
        return (int32_t)value - (value > INT16_MAX ? UINT16_MAX + 1 : 0);
    }
    return (int32_t)((int64_t)value - (value > INT32_MAX ? (int64_t)UINT32_MAX + 1 : 0));
}

static size_t body_bytes(size_t n_frames, size_t n_channels, size_t n_sample_bytes)
{
    return SH_PACKET_FRAME_HEAD_BYTES + n_frames * n_channels * n_sample_bytes + CRC_BYTES;
}

static bool is_in_range(const struct body *body)
{
    return body->stream < SH_STREAMS_MAX && body->n_frames >= 1 &&
           body->n_frames <= SH_PACKET_FRAME_FRAMES_MAX && body->n_channels >= 1 &&
           body->n_channels <= SH_STREAM_CHANNELS_MAX &&
           (body->n_sample_bytes == SH_PACKET_FORMAT_INT16 ||
            body->n_sample_bytes == SH_PACKET_FORMAT_INT32) &&
           (body->n_frames == 1 || body->period_ns > 0);
}

static bool parse_body(const uint8_t *bytes, size_t n_bytes, struct body *body)
{
    if (n_bytes < SH_PACKET_FRAME_HEAD_BYTES + CRC_BYTES ||
        n_bytes > SH_PACKET_FRAME_BODY_MAX) {
        return false;
    }
    size_t n_checked = n_bytes - CRC_BYTES;
    if (sh_crc_ccitt_false(bytes, n_checked) != get_little(bytes + n_checked, CRC_BYTES)) {
        return false;
    }
    *body = (struct body){
        .stream = bytes[OFFSET_VERSION] & 0x0Fu,
        .sequence = (uint16_t)get_little(bytes + OFFSET_SEQUENCE, 2),
        .device_time_us = get_little(bytes + OFFSET_TIME, 4),
        .period_ns = get_little(bytes + OFFSET_PERIOD, 4),
        .n_frames = bytes[OFFSET_FRAMES],
        .n_channels = bytes[OFFSET_CHANNELS],
        .n_sample_bytes = bytes[OFFSET_FORMAT],
        .samples = bytes + SH_PACKET_FRAME_HEAD_BYTES,
    };
    return bytes[OFFSET_VERSION] >> 4 == SH_PACKET_FRAME_VERSION && is_in_range(body) &&
           n_bytes == body_bytes(body->n_frames, body->n_channels, body->n_sample_bytes);
}

/* Judges a packet by its sequence, in frames. */
static void count_sequence(struct sh_packet_frame *decoder, const struct body *body)
{
    struct sh_packet_frame_sequence *stream = &decoder->sequence[body->stream];
    int32_t ahead = (uint16_t)(body->sequence - stream->newest);
    ahead -= ahead > INT16_MAX ? UINT16_MAX + 1 : 0;
    if (!stream->has_newest || ahead < -SH_PACKET_FRAME_LATE_MAX ||
        ahead > SH_PACKET_FRAME_LEAP_MAX) {
        *stream = (struct sh_packet_frame_sequence){true, body->sequence, 1};
        return;
    }
    if (ahead > 0) {
        decoder->counts.lost += (uint64_t)(ahead - 1) * body->n_frames;
        stream->seen = ahead <= SH_PACKET_FRAME_LATE_MAX ? stream->seen << ahead : 0;
        stream->seen |= 1;
        stream->newest = body->sequence;
        return;
    }
    uint64_t bit = (uint64_t)1 << -ahead;
    if ((stream->seen & bit) != 0) {
        decoder->counts.repeated += body->n_frames;
    } else {
        decoder->counts.late += body->n_frames;
    }
    stream->seen |= bit;
}

static enum sh_status pass_frames(struct sh_packet_frame *decoder, const struct body *body)
{
    struct sh_frame frame = {.n_channels = body->n_channels, .stream = body->stream};
    const uint8_t *sample = body->samples;
    for (size_t i = 0; i < body->n_frames; i++) {
        uint64_t later_us = ((uint64_t)i * body->period_ns + 500) / 1000;
        frame.device_time_us = body->device_time_us + (uint32_t)later_us;
        for (size_t k = 0; k < body->n_channels; k++) {
            frame.counts[k] = get_sample(sample, body->n_sample_bytes);
            sample += body->n_sample_bytes;
        }
        decoder->counts.good++;
        enum sh_status status = decoder->sink.frame(decoder->sink.context, &frame);
        if (status != SH_OK) {
            return status;
        }
    }
    return SH_OK;
}

/* n_ended: bytes of the packet with its zero, where it had one. */
static void count_damaged(struct sh_packet_frame *decoder, size_t n_ended)
{
    decoder->counts.damaged++;
    decoder->counts.skipped_bytes += n_ended;
}

static enum sh_status end_packet(struct sh_packet_frame *decoder)
{
    size_t n_stuffed = decoder->n_bytes;
    size_t n_body = 0;
    struct body body;
    decoder->n_bytes = 0;
    if (n_stuffed == 0) {
        return SH_OK;
    }
    if (n_stuffed > sizeof decoder->bytes ||
        sh_cobs_decode(decoder->bytes, n_stuffed, decoder->bytes, &n_body) != SH_OK ||
        !parse_body(decoder->bytes, n_body, &body)) {
        count_damaged(decoder, n_stuffed + 1);
        return SH_OK;
    }
    count_sequence(decoder, &body);
    return pass_frames(decoder, &body);
}

static enum sh_status take_byte(struct sh_packet_frame *decoder, uint8_t byte)
{
    if (byte == 0) {
        return end_packet(decoder);
    }
    if (decoder->n_bytes < sizeof decoder->bytes) {
        decoder->bytes[decoder->n_bytes] = byte;
    }
    decoder->n_bytes++;
    return SH_OK;
}

void sh_packet_frame_init(struct sh_packet_frame *decoder, const struct sh_frame_sink *sink)
{
    *decoder = (struct sh_packet_frame){.sink = *sink};
}

enum sh_status
sh_packet_frame_push(struct sh_packet_frame *decoder, const uint8_t *bytes, size_t n_bytes)
{
    enum sh_status status = SH_OK;
    for (size_t i = 0; i < n_bytes && status == SH_OK; i++) {
        status = take_byte(decoder, bytes[i]);
    }
    return status;
}

void sh_packet_frame_flush(struct sh_packet_frame *decoder)
{
    if (decoder->n_bytes > 0) {
        count_damaged(decoder, decoder->n_bytes);
        decoder->n_bytes = 0;
    }
}

void sh_packet_frame_reset(struct sh_packet_frame *decoder)
{
    struct sh_frame_sink sink = decoder->sink;
    sh_packet_frame_init(decoder, &sink);
}

static bool counts_fit(const struct sh_packet *packet)
{
    if (packet->format == SH_PACKET_FORMAT_INT32) {
        return true;
    }
    for (size_t i = 0; i < packet->n_frames * packet->n_channels; i++) {
        if (packet->counts[i] < INT16_MIN || packet->counts[i] > INT16_MAX) {
            return false;
        }
    }
    return true;
}

enum sh_status
sh_packet_frame_encode(const struct sh_packet *packet, uint8_t *to, size_t *n_bytes)
{
    const struct body head = {
        .stream = packet->stream,
        .period_ns = packet->period_ns,
        .n_frames = packet->n_frames,
        .n_channels = packet->n_channels,
        .n_sample_bytes = (size_t)packet->format,
    };
    if (!is_in_range(&head) || !counts_fit(packet)) {
        return SH_ERR_ARGUMENT;
    }
    size_t n_body = body_bytes(head.n_frames, head.n_channels, head.n_sample_bytes);
    if (n_body > SH_PACKET_FRAME_BODY_MAX) {
        return SH_ERR_ARGUMENT;
    }
    uint8_t body[SH_PACKET_FRAME_BODY_MAX];
    body[OFFSET_VERSION] = (uint8_t)(SH_PACKET_FRAME_VERSION << 4 | packet->stream);
    put_little(body + OFFSET_SEQUENCE, 2, packet->sequence);
    put_little(body + OFFSET_TIME, 4, packet->device_time_us);
    put_little(body + OFFSET_PERIOD, 4, packet->period_ns);
    body[OFFSET_FRAMES] = (uint8_t)packet->n_frames;
    body[OFFSET_CHANNELS] = (uint8_t)packet->n_channels;
    body[OFFSET_FORMAT] = (uint8_t)packet->format;
    for (size_t i = 0; i < packet->n_frames * packet->n_channels; i++) {
        put_little(body + SH_PACKET_FRAME_HEAD_BYTES + i * head.n_sample_bytes,
                   head.n_sample_bytes, (uint32_t)packet->counts[i]);
    }
    size_t n_checked = n_body - CRC_BYTES;
    put_little(body + n_checked, CRC_BYTES, sh_crc_ccitt_false(body, n_checked));
    size_t n_stuffed = sh_cobs_encode(body, n_body, to);
    to[n_stuffed] = 0;
    *n_bytes = n_stuffed + 1;
    return SH_OK;
}
