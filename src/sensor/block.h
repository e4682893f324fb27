/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SENSOR_BLOCK_H
#define SH_SENSOR_BLOCK_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/status.h"

/*
 * What flows from a sensor, or from a recording's files, to everything behind: blocks of
 * samples and the clock anchors that give their frames a time.
 */

/*
 * Consecutive frames of one stream. Samples are the sensor's own counts as doubles (exact up to
 * 2^53), or physical values where the channel is_physical.
 */
struct sh_block {
    size_t stream;        /* index of the stream */
    uint64_t first_frame; /* the stream's frames follow each other without a hole */
    size_t n_frames;
    size_t n_channels;
    const double *raw; /* [n_frames][n_channels], borrowed */
    bool is_filled;    /* all of it stands for samples that were lost (last value repeated) */
};

/* An anchor: the common time of a frame, with the standard uncertainty of that time. */
struct sh_anchor {
    uint64_t frame;
    double time_s;
    double u_s;
};

/*
 * Where blocks and anchors go. An anchor is passed on before any block that holds its frame or
 * a later one (a block that would straddle it is cut there). A status other than SH_OK stops
 * the source and comes back from it.
 */
struct sh_block_sink {
    enum sh_status (*block)(void *context, const struct sh_block *block, struct sh_error *err);
    enum sh_status (*anchor)(void *context,
                             size_t stream,
                             const struct sh_anchor *anchor,
                             struct sh_error *err);
    void *context;
};

#endif
