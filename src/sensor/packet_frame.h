/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SENSOR_PACKET_FRAME_H
#define SH_SENSOR_PACKET_FRAME_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/status.h"
#include "sensor/cobs.h"
#include "sensor/frame.h"

/*
 * Binary packets: one or more frames of one stream, byte-stuffed (sensor/cobs.h) and ended by a
 * zero. docs/sensor-framing.md has the layout for those who build a sensor. Unstuffed, all
 * numbers little-endian:
 *
 *     byte 0        version (upper four bits, 1) and stream (lower four, below SH_STREAMS_MAX)
 *     bytes 1-2     sequence of the stream's packets, wraps at 2^16
 *     bytes 3-6     device time of the first frame in microseconds, wraps at 2^32
 *     bytes 7-10    sample period in nanoseconds; with one frame it may be 0
 *     byte 11       frames, 1 to 255
 *     byte 12       channels, 1 to SH_STREAM_CHANNELS_MAX
 *     byte 13       sample format: enum sh_packet_format
 *     from byte 14  samples, frame by frame
 *     last two      CRC-16/CCITT-FALSE of all before (sensor/crc.h)
 */

#define SH_PACKET_FRAME_VERSION    1u
#define SH_PACKET_FRAME_HEAD_BYTES 14u
#define SH_PACKET_FRAME_BODY_MAX   4096u /* unstuffed, CRC included */
#define SH_PACKET_FRAME_BYTES_MAX  (SH_COBS_ENCODED_MAX(SH_PACKET_FRAME_BODY_MAX) + 1u)
#define SH_PACKET_FRAME_FRAMES_MAX 255u

/* Packets so far behind the newest are late; beyond that the device began anew. */
#define SH_PACKET_FRAME_LATE_MAX 63
/* A sequence that leaps further than this is a device that began anew, not a loss. */
#define SH_PACKET_FRAME_LEAP_MAX 1024

enum sh_packet_format {
    SH_PACKET_FORMAT_INT16 = 2, /* the value is the bytes a sample takes */
    SH_PACKET_FORMAT_INT32 = 4
};

/* One packet to be encoded. */
struct sh_packet {
    size_t stream;           /* below SH_STREAMS_MAX */
    size_t n_frames;         /* 1 to SH_PACKET_FRAME_FRAMES_MAX */
    size_t n_channels;       /* 1 to SH_STREAM_CHANNELS_MAX */
    const int32_t *counts;   /* [n_frames][n_channels], borrowed */
    uint32_t device_time_us; /* of the first frame */
    uint32_t period_ns;      /* from frame to frame; above 0 where there are several */
    enum sh_packet_format format;
    uint16_t sequence;
};

/* What a decoder knows of one stream's sequence. */
struct sh_packet_frame_sequence {
    bool has_newest;
    uint16_t newest;
    uint64_t seen; /* bit k: packet newest - k has come */
};

/* All state of a decoder; plain memory (about 4 KiB), nothing to close. */
struct sh_packet_frame {
    struct sh_frame_sink sink;
    uint8_t bytes[SH_PACKET_FRAME_BYTES_MAX];
    size_t n_bytes; /* of the packet so far, also those that found no room */
    struct sh_packet_frame_sequence sequence[SH_STREAMS_MAX];
    /*
     * In frames, judged by the sequence: a packet already seen is repeated, one older than the
     * newest late, and each one missing lost (reckoned at the frames of the packet behind the
     * hole; a late one stays counted as lost). damaged counts packets. Every frame of a packet
     * that can be read is good and passed on, repeated and late ones too: who orders the frames
     * by their device time (sensor/assembler.h) drops them.
     */
    struct sh_frame_counts counts;
};

/* A decoder. Copies sink; keeps its context. */
void sh_packet_frame_init(struct sh_packet_frame *decoder, const struct sh_frame_sink *sink);

/*
 * Decodes bytes and passes the frames of each packet on as soon as its zero has come, frame i
 * with the device time of the first + i periods, rounded to microseconds. However the bytes are
 * cut, frames and counts are the same. Zeros in a row are passed over. What lies between two
 * zeros and is no packet (stuffing, check sum, version, lengths) is one damaged packet.
 * Returns the sink's status where that is not SH_OK; nothing behind that frame is read then.
 * Constant memory. Test: tests/sensor/test_packet_frame.c.
 */
enum sh_status
sh_packet_frame_push(struct sh_packet_frame *decoder, const uint8_t *bytes, size_t n_bytes);

/* The end of the bytes: a packet without its zero counts as damaged. Twice adds nothing. */
void sh_packet_frame_flush(struct sh_packet_frame *decoder);

/* As after init. */
void sh_packet_frame_reset(struct sh_packet_frame *decoder);

/*
 * Encodes packet into to, which holds SH_PACKET_FRAME_BYTES_MAX; *n_bytes is what was written,
 * its zero included. SH_ERR_ARGUMENT: a field out of its range, a count that does not fit the
 * format, or a body over SH_PACKET_FRAME_BODY_MAX; nothing is written then.
 */
enum sh_status
sh_packet_frame_encode(const struct sh_packet *packet, uint8_t *to, size_t *n_bytes);

#endif
