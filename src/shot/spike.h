/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SHOT_SPIKE_H
#define SH_SHOT_SPIKE_H

#include <stdbool.h>
#include <stddef.h>

#include "metrology/channel.h"

/*
 * Single readings of a force that are nonsense: a byte that was spoilt and fits all the same, a
 * converter that slipped. Such a reading stands SH_SPIKE_MIN_N or more off both its neighbours,
 * which agree with each other and with the one before them to a quarter of that; the string's
 * force does nothing like it. It is replaced by its neighbours' mean.
 *
 * Frames come out one later than they went in. A plain value without heap; depends on the
 * samples alone, never on how they were cut. Test: tests/shot/test_spike.c.
 */
#define SH_SPIKE_MIN_N       10.0
#define SH_SPIKE_AGREE_RATIO 0.25

struct sh_spike {
    size_t n_channels; /* that are watched: the forces */
    size_t channel[SH_STREAM_CHANNELS_MAX];
    size_t n_values;                       /* of a frame */
    size_t n_frames;                       /* seen, up to 3 */
    bool is_filled;                        /* the last frame */
    double before[SH_STREAM_CHANNELS_MAX]; /* the frame before the last but one */
    double middle[SH_STREAM_CHANNELS_MAX]; /* the last but one: what came out latest */
    double last[SH_STREAM_CHANNELS_MAX];   /* the last one that went in */
};

/* What came out: the last frame but one. */
struct sh_spike_frame {
    bool is_present; /* false for the first frame that goes in */
    bool is_mended;
    bool is_filled;
    const double *value; /* [channels of the stream], until the next push */
};

/* Watches the force channels of a stream; n_channels may come out as 0. */
void sh_spike_init(struct sh_spike *spike, const struct sh_stream *stream);

/* Takes the next frame's values [channels of the stream], gives the one before. */
struct sh_spike_frame
sh_spike_push(struct sh_spike *spike, const double *value, bool is_filled);

/* The last frame, with nothing behind it to judge it by; absent where none went in. */
struct sh_spike_frame sh_spike_flush(const struct sh_spike *spike);

#endif
