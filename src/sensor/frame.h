/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SENSOR_FRAME_H
#define SH_SENSOR_FRAME_H

#include <stddef.h>
#include <stdint.h>

#include "base/status.h"
#include "metrology/channel.h"

/*
 * One frame as a decoder found it in the bytes of a port, and where it goes.
 */
struct sh_frame {
    uint32_t device_time_us; /* the device's own counter, wraps at 2^32 */
    size_t n_channels;       /* 1 to SH_STREAM_CHANNELS_MAX */
    int32_t counts[SH_STREAM_CHANNELS_MAX];
    size_t stream; /* below SH_STREAMS_MAX; 0 where the framing knows only one stream */
};

/* What became of the sensor's frames on the way in. */
struct sh_frame_counts {
    uint64_t good;
    uint64_t damaged; /* lines or packets that could not be read */
    uint64_t repeated;
    uint64_t late;
    uint64_t lost;
    uint64_t skipped_bytes; /* bytes of what was damaged, its end included */
};

/* A status other than SH_OK stops the decoder's push and comes back from it. */
struct sh_frame_sink {
    enum sh_status (*frame)(void *context, const struct sh_frame *frame);
    void *context;
};

#endif
