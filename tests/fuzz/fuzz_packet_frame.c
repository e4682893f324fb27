/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Any bytes as packets. The first byte chooses the cut and whether the rest is taken as it
 * comes or as one body, which is given a right check sum and stuffed first (else hardly an
 * input would pass the check sum). However it is cut, frames and counts are the same; a body
 * that is a packet comes out as it was after being encoded again.
 */
#include <string.h>

#include "fuzz/fuzz.h"
#include "sensor/crc.h"
#include "sensor/packet_frame.h"

#define WIRE_BYTES_MAX (1u << 16)
#define FRAMES_MAX     SH_PACKET_FRAME_FRAMES_MAX

/* The frames of a run, folded into one number; the first packet's kept. */
struct fold {
    uint64_t hash;
    uint64_t n_frames;
    struct sh_frame frames[FRAMES_MAX];
};

static enum sh_status fold_frame(void *context, const struct sh_frame *frame)
{
    struct fold *fold = context;
    SH_FUZZ_CHECK(frame->stream < SH_STREAMS_MAX);
    SH_FUZZ_CHECK(frame->n_channels >= 1 && frame->n_channels <= SH_STREAM_CHANNELS_MAX);
    fold->hash = fold->hash * 1099511628211u + frame->device_time_us + (frame->stream << 32);
    for (size_t i = 0; i < frame->n_channels; i++) {
        fold->hash = fold->hash * 1099511628211u + (uint32_t)frame->counts[i];
    }
    if (fold->n_frames < FRAMES_MAX) {
        fold->frames[fold->n_frames] = *frame;
    }
    fold->n_frames++;
    return SH_OK;
}

static struct sh_frame_counts
run(struct fold *fold, const uint8_t *bytes, size_t n_bytes, size_t piece)
{
    static const struct fold none;
    struct sh_packet_frame decoder;
    const struct sh_frame_sink sink = {fold_frame, fold};
    *fold = none;
    sh_packet_frame_init(&decoder, &sink);
    for (size_t at = 0; at < n_bytes; at += piece) {
        size_t n = n_bytes - at < piece ? n_bytes - at : piece;
        SH_FUZZ_CHECK(sh_packet_frame_push(&decoder, bytes + at, n) == SH_OK);
    }
    sh_packet_frame_flush(&decoder);
    return decoder.counts;
}

static void check_cuts(const uint8_t *bytes, size_t n_bytes, size_t piece, struct fold *whole)
{
    struct fold cut;
    struct sh_frame_counts of_whole = run(whole, bytes, n_bytes, n_bytes);
    struct sh_frame_counts of_cut = run(&cut, bytes, n_bytes, piece);
    SH_FUZZ_CHECK(whole->hash == cut.hash && whole->n_frames == cut.n_frames);
    SH_FUZZ_CHECK(memcmp(&of_whole, &of_cut, sizeof of_whole) == 0);
    SH_FUZZ_CHECK(of_whole.good == whole->n_frames);
    SH_FUZZ_CHECK(of_whole.repeated + of_whole.late <= of_whole.good);
    SH_FUZZ_CHECK(of_whole.skipped_bytes <= n_bytes);
    SH_FUZZ_CHECK(of_whole.damaged <= of_whole.skipped_bytes);
}

/* Encodes the frames of one packet again, as 32-bit samples one a packet, and compares. */
static void check_again(const struct fold *first)
{
    for (size_t i = 0; i < first->n_frames; i++) {
        const struct sh_frame *frame = &first->frames[i];
        const struct sh_packet packet = {.stream = frame->stream,
                                         .device_time_us = frame->device_time_us,
                                         .n_frames = 1,
                                         .n_channels = frame->n_channels,
                                         .format = SH_PACKET_FORMAT_INT32,
                                         .counts = frame->counts};
        uint8_t wire[SH_PACKET_FRAME_BYTES_MAX];
        size_t n = 0;
        struct fold again;
        SH_FUZZ_CHECK(sh_packet_frame_encode(&packet, wire, &n) == SH_OK);
        struct sh_frame_counts counts = run(&again, wire, n, n);
        SH_FUZZ_CHECK(counts.good == 1 && counts.damaged == 0);
        SH_FUZZ_CHECK(memcmp(again.frames[0].counts, frame->counts,
                             frame->n_channels * sizeof frame->counts[0]) == 0);
    }
}

static void check_body(const uint8_t *bytes, size_t n_bytes, size_t piece)
{
    uint8_t body[SH_PACKET_FRAME_BODY_MAX + 64];
    uint8_t wire[SH_COBS_ENCODED_MAX(sizeof body) + 1];
    struct fold first;
    if (n_bytes > sizeof body - 2) {
        return;
    }
    uint16_t crc = sh_crc_ccitt_false(bytes, n_bytes);
    memcpy(body, bytes, n_bytes);
    body[n_bytes] = (uint8_t)crc;
    body[n_bytes + 1] = (uint8_t)(crc >> 8);
    size_t n_wire = sh_cobs_encode(body, n_bytes + 2, wire);
    wire[n_wire++] = 0;
    check_cuts(wire, n_wire, piece, &first);
    check_again(&first);
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t n_bytes)
{
    struct fold whole;
    if (n_bytes < 2 || n_bytes > WIRE_BYTES_MAX) {
        return 0;
    }
    size_t piece = 1 + bytes[0] / 2;
    if (bytes[0] % 2 == 0) {
        check_cuts(bytes + 1, n_bytes - 1, piece, &whole);
    } else {
        check_body(bytes + 1, n_bytes - 1, piece);
    }
    return 0;
}
