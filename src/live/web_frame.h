/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_LIVE_WEB_FRAME_H
#define SH_LIVE_WEB_FRAME_H

#include <stddef.h>

#include "base/status.h"

/*
 * The frames that a WebSocket client sends (RFC 6455, 5.2), out of a stream of bytes. What is
 * too long is refused by its head, before any of it is taken in: the web library would set
 * aside as much memory as a head asks for, up to 2 GB a viewer.
 *
 * A plain value without heap; one thread at a time. Test: tests/live/test_web_frame.c.
 */
#define SH_WEB_FRAME_BYTES      16384u /* the longest that is taken */
#define SH_WEB_FRAME_HEAD_BYTES 14u

enum sh_web_frame_opcode {
    SH_WEB_FRAME_TEXT = 1,
    SH_WEB_FRAME_CLOSE = 8,
    SH_WEB_FRAME_PING = 9,
    SH_WEB_FRAME_PONG = 10
};

/* Where frames go: bytes [n_bytes], unmasked, borrowed. Anything but SH_OK stops the push. */
struct sh_web_frame_sink {
    enum sh_status (*frame)(void *context,
                            enum sh_web_frame_opcode opcode,
                            const char *bytes,
                            size_t n_bytes);
    void *context;
};

struct sh_web_frame {
    struct sh_web_frame_sink sink;
    unsigned char head[SH_WEB_FRAME_HEAD_BYTES];
    size_t n_head;
    size_t n_expected; /* bytes of this frame, once its head is whole */
    size_t n_bytes;    /* of them that have come */
    char bytes[SH_WEB_FRAME_BYTES];
};

/* Copies sink, keeps its context. */
void sh_web_frame_init(struct sh_web_frame *frame, const struct sh_web_frame_sink *sink);

/*
 * Takes bytes, cut anyhow. SH_ERR_FULL: a frame is longer than SH_WEB_FRAME_BYTES (125 for all
 * but text); SH_ERR_FORMAT: it is not masked, has bits that were not agreed on, or is of a kind
 * that no command is (binary, a piece of a longer one); the sink's status. Nothing is to be
 * pushed after either.
 */
enum sh_status
sh_web_frame_push(struct sh_web_frame *frame, const unsigned char *bytes, size_t n_bytes);

#endif
