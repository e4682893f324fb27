/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SIM_STREAM_SOURCE_H
#define SH_SIM_STREAM_SOURCE_H

#include <stddef.h>
#include <stdint.h>

#include "metrology/channel.h"
#include "sim/session_plan.h"

/*
 * One simulated sensor: the counts of its frames, one after the other, with its own clock,
 * averaging, noise, steps and range. A stream's crosstalk and a channel's load drift are what
 * takes them off: the sensor shows them before its curve. A finger's sensor with a curve is
 * pressed only, so that it never shows less than no force. Test:
 * tests/sim/test_stream_source.c.
 */

/*
 * A sensor. stream says what it claims to be: a channel's noise is what its samples get (white,
 * rms, in its unit), delay_s its true lag, range where it clips. The rest is what a recording
 * does not know.
 */
struct sh_stream_source_config {
    struct sh_stream stream; /* 1 to 20,000 Hz */
    double clock_ppm;        /* its clock is fast by this, -1000 to 1000 */
    double offset_error_s;   /* frame 0 is at stream.offset_s plus this, -1 to 1 */
    double boxcar_s;         /* a sample is the mean over this, centred; 0 to 0.2 */
    double anchor_period_s; /* an anchor at frame 0 and then every so often; 0: none; to 3600 */
    double anchor_u_s;      /* standard uncertainty and true error of its time, 0 to 0.01 */
    double lost_per_h;      /* losses an hour, 0 to 3600; never frame 0 */
    uint64_t lost_frames_max;  /* of one loss: 1 to this, each alike; at most 1,000,000 */
    double noise_counts;       /* of the converter, white, rms, in every channel; 0 to 1e6 */
    double crosstalk_u;        /* standard uncertainty of each share that neighbours show */
    double load_drift_u_ratio; /* and of a load drift's ratio, in parts of itself */
};

/* Channels that follow each other and lag alike: sampled together. */
struct sh_stream_source_group {
    size_t first;
    size_t n_channels;
    double delay_s;
    unsigned parts; /* sh_session_part, or-ed */
};

struct sh_stream_source {
    const struct sh_session_plan *plan; /* kept */
    struct sh_stream_source_config config;
    struct sh_random random; /* noise alone, in the order of frames and channels */
    struct sh_stream_source_group group[SH_STREAM_CHANNELS_MAX];
    size_t n_groups;
    size_t n_steps; /* points over the boxcar */
    /* values shown = share * forces, [shown][carrying] */
    double share[SH_STREAM_CHANNELS_MAX][SH_STREAM_CHANNELS_MAX];
    double drift[SH_STREAM_CHANNELS_MAX]; /* of the load, in the channel's unit */
    uint64_t last_frame;
    double true_rate_hz;
};

/*
 * Makes a source that stands before frame 0. copies config, keeps plan. SH_ERR_ARGUMENT: a
 * figure is out of its range, a scale is 0, a curve is not monotone, a role, finger or axis is
 * missing, a crosstalk cannot be turned round. *source is then untouched. No heap.
 */
enum sh_status sh_stream_source_init(struct sh_stream_source *source,
                                     const struct sh_session_plan *plan,
                                     const struct sh_stream_source_config *config,
                                     uint64_t seed,
                                     struct sh_error *err);

/* True session time of a frame. Exact from the frame's number, never a sum. */
double sh_stream_source_get_time_s(const struct sh_stream_source *source, uint64_t frame);

/*
 * Makes the counts of frame into raw[n_channels]; values where a channel is_physical. Call it
 * for ascending frames; frames left out take no noise. Cost: the signals at one point every
 * 0.25 ms of the boxcar, one normal number a noisy channel.
 */
void sh_stream_source_make(struct sh_stream_source *source, uint64_t frame, double *raw);

#endif
