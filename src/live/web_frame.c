/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "live/web_frame.h"

#include <stdbool.h>
#include <stdint.h>
#include <string.h>

#define FINAL_BIT         0x80u
#define RESERVED_BITS     0x70u
#define OPCODE_BITS       0x0Fu
#define MASKED_BIT        0x80u
#define LENGTH_BITS       0x7Fu
#define LENGTH_16         126u
#define LENGTH_64         127u
#define HEAD_LEAST        2u
#define MASK_BYTES        4u
#define CONTROL_BYTES_MAX 125u

void sh_web_frame_init(struct sh_web_frame *frame, const struct sh_web_frame_sink *sink)
{
    memset(frame, 0, sizeof *frame);
    frame->sink = *sink;
}

/* Bytes that tell the length, behind the first two. */
static size_t get_length_bytes(const struct sh_web_frame *frame)
{
    const unsigned length = frame->head[1] & LENGTH_BITS;
    return length == LENGTH_16 ? 2 : length == LENGTH_64 ? 8 : 0;
}

static size_t get_head_bytes(const struct sh_web_frame *frame)
{
    return frame->n_head < HEAD_LEAST ? HEAD_LEAST
                                      : HEAD_LEAST + get_length_bytes(frame) + MASK_BYTES;
}

/* What the first two bytes say. */
static enum sh_status check_kind(const struct sh_web_frame *frame)
{
    const bool is_final = (frame->head[0] & FINAL_BIT) != 0;
    const bool is_plain = (frame->head[0] & RESERVED_BITS) == 0;
    const bool is_masked = (frame->head[1] & MASKED_BIT) != 0;
    if (!is_final || !is_plain || !is_masked) {
        return SH_ERR_FORMAT;
    }
    switch (frame->head[0] & OPCODE_BITS) {
    case SH_WEB_FRAME_TEXT:
        return SH_OK;
    case SH_WEB_FRAME_CLOSE:
    case SH_WEB_FRAME_PING:
    case SH_WEB_FRAME_PONG:
        return (frame->head[1] & LENGTH_BITS) <= CONTROL_BYTES_MAX ? SH_OK : SH_ERR_FULL;
    default:
        return SH_ERR_FORMAT;
    }
}

static enum sh_status read_length(struct sh_web_frame *frame)
{
    const size_t n_length = get_length_bytes(frame);
    uint64_t n_bytes = n_length == 0 ? frame->head[1] & LENGTH_BITS : 0;
    for (size_t i = 0; i < n_length; i++) {
        n_bytes = n_bytes << 8 | frame->head[HEAD_LEAST + i];
    }
    if (n_bytes > SH_WEB_FRAME_BYTES) {
        return SH_ERR_FULL;
    }
    frame->n_expected = (size_t)n_bytes;
    return SH_OK;
}

/* Takes one byte of the head. */
static enum sh_status push_head(struct sh_web_frame *frame, unsigned char byte)
{
    frame->head[frame->n_head++] = byte;
    if (frame->n_head == HEAD_LEAST) {
        return check_kind(frame);
    }
    if (frame->n_head == get_head_bytes(frame)) {
        return read_length(frame);
    }
    return SH_OK;
}

static bool has_head(const struct sh_web_frame *frame)
{
    return frame->n_head >= HEAD_LEAST && frame->n_head == get_head_bytes(frame);
}

/* Takes what is still missing of the frame; how much that was. */
static size_t push_bytes(struct sh_web_frame *frame, const unsigned char *bytes, size_t n_bytes)
{
    const unsigned char *mask = frame->head + frame->n_head - MASK_BYTES;
    const size_t n_missing = frame->n_expected - frame->n_bytes;
    const size_t n = n_bytes < n_missing ? n_bytes : n_missing;
    for (size_t i = 0; i < n; i++) {
        const size_t at = frame->n_bytes + i;
        const unsigned char byte = (unsigned char)(bytes[i] ^ mask[at % MASK_BYTES]);
        memcpy(&frame->bytes[at], &byte, 1);
    }
    frame->n_bytes += n;
    return n;
}

static enum sh_status hand_on(struct sh_web_frame *frame)
{
    const enum sh_web_frame_opcode opcode =
        (enum sh_web_frame_opcode)(frame->head[0] & OPCODE_BITS);
    const size_t n_bytes = frame->n_bytes;
    frame->n_head = 0;
    frame->n_bytes = 0;
    return frame->sink.frame(frame->sink.context, opcode, frame->bytes, n_bytes);
}

enum sh_status
sh_web_frame_push(struct sh_web_frame *frame, const unsigned char *bytes, size_t n_bytes)
{
    enum sh_status status = SH_OK;
    size_t i = 0;
    while (i < n_bytes && status == SH_OK) {
        if (has_head(frame)) {
            i += push_bytes(frame, bytes + i, n_bytes - i);
        } else {
            status = push_head(frame, bytes[i]);
            i++;
        }
        if (status == SH_OK && has_head(frame) && frame->n_bytes == frame->n_expected) {
            status = hand_on(frame);
        }
    }
    return status;
}
