/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SENSOR_ASSEMBLER_H
#define SH_SENSOR_ASSEMBLER_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/status.h"
#include "metrology/channel.h"
#include "sensor/block.h"
#include "sensor/device_clock.h"
#include "sensor/frame.h"

/*
 * From the frames of one device, as a decoder finds them, to the blocks and anchors of its
 * streams (sensor/block.h).
 *
 * Frames get their number from their device time (sensor/frame_number.h); numbers left out
 * become filled blocks that repeat the last value, and frames that come twice or too late are
 * dropped and counted. All streams share the device's clock (sensor/device_clock.h). For the
 * first second frames are held back, so that the first anchor does not rest on one arrival;
 * from then on they leave with each advance. A stream that says nothing for a second while the
 * others speak is filled up to a second ago by the host's clock, one that never spoke with its
 * channels' zero, so that all streams keep moving. Where the whole device is silent its bytes
 * may only be on their way (a network or a buffer holds them up): then all are filled after 5
 * s. A stream that speaks is never filled, however late its frames are. Silence is counted in
 * the time in which somebody listened (sensor/port_reader.h), so that this program's own
 * lateness is not taken for it.
 *
 * Anchors: at the first frame, then every 9 s on a fresh line, each followed a second later by
 * one on the same line, so that the rate between the last two never shows the fit's scatter.
 *
 * What leaves depends on the frames, their arrivals and the calls of advance alone; how frames
 * fall into blocks also on when advance is called.
 */

#define SH_ASSEMBLER_BLOCK_FRAMES 256u
#define SH_ASSEMBLER_HELD_MAX     32768u /* frames in the first second; with more it ends early */

struct sh_assembler_config {
    const struct sh_stream *streams; /* [n_streams]; names, rates, channels' zeros are copied */
    size_t n_streams;                /* 1 to SH_STREAMS_MAX */
    int64_t start_host_us;           /* 0 s of the common clock */
    /*
     * Bytes from a file have no arrival: the device's own clock takes the host's place, so that
     * its first frame is at start_host_us.
     */
    bool is_replay;
    struct sh_device_clock_config clock;
    struct sh_block_sink sink; /* copied, its context kept */
};

struct sh_assembler;

/*
 * Opens; *out is set only on success. SH_ERR_ARGUMENT: a number of streams or channels, a rate
 * (1 to 100,000 Hz) or a clock setting out of its range. SH_ERR_MEMORY. Cost: 3 MB.
 */
enum sh_status sh_assembler_open(const struct sh_assembler_config *config,
                                 struct sh_assembler **out,
                                 struct sh_error *err);

/* Takes NULL. What was not handed on is dropped. */
void sh_assembler_close(struct sh_assembler **assembler);

/*
 * The host time at which the bytes of the frames that follow were read, and for how long the
 * port had been listened to by then, from any start; where nothing has come, up to when there
 * was nothing. Neither goes back: an earlier one leaves it as it is.
 */
void sh_assembler_arrive(struct sh_assembler *assembler, int64_t host_us, int64_t listened_us);

/* The device's port has ended: what it has not brought by now will not come. Its next frame
 * takes that back. */
void sh_assembler_hang_up(struct sh_assembler *assembler);

/*
 * Takes one frame. A frame of a stream that the profile does not have, or with another number
 * of channels, is dropped and counted as strange. Returns the sink's status where that is not
 * SH_OK; the assembler is then good for closing only.
 */
enum sh_status sh_assembler_push(struct sh_assembler *assembler,
                                 const struct sh_frame *frame,
                                 struct sh_error *err);

/*
 * Hands on what is there and fills streams that have stalled, as of the last arrive. To be
 * called after all bytes that were waiting have been pushed, also where there were none.
 * Statuses as push.
 */
enum sh_status sh_assembler_advance(struct sh_assembler *assembler, struct sh_error *err);

/* The end: hands on what is held. Twice adds nothing. Statuses as push. */
enum sh_status sh_assembler_flush(struct sh_assembler *assembler, struct sh_error *err);

/*
 * good, repeated, late and lost frames of a stream by their device time; damaged and
 * skipped_bytes are the decoder's and 0 here. A late frame stays counted as lost. stream below
 * n_streams.
 */
struct sh_frame_counts sh_assembler_get_counts(const struct sh_assembler *assembler,
                                               size_t stream);

/* Frames that fit no stream of the profile. */
uint64_t sh_assembler_get_strange(const struct sh_assembler *assembler);

/* How often the device began anew. */
uint64_t sh_assembler_get_restarts(const struct sh_assembler *assembler);

/* Rate found of a stream, by the device's clock; the nominal one at first. */
double sh_assembler_get_rate_hz(const struct sh_assembler *assembler, size_t stream);

#endif
