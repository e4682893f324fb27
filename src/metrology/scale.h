/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_METROLOGY_SCALE_H
#define SH_METROLOGY_SCALE_H

#include <stdbool.h>

#include "metrology/channel.h"
#include "metrology/load_drift.h"

/*
 * The one place where samples become physical values.
 */

/*
 * Turns one frame of samples (counts, or values where a channel is_physical) into physical
 * values, crosstalk included. raw and value: [stream->n_channels]; they may be the same array.
 * Finite input gives finite output. Cost: one multiply-add a channel, plus a binary search in
 * the curve, plus n_channels^2 with crosstalk. Test: tests/metrology/test_scale.c.
 */
void sh_scale_frame(const struct sh_stream *stream, const double *raw, double *value);

/*
 * The same for frames that follow each other, dt_s apart, with the load drift taken off in the
 * channels that have one (metrology/load_drift.h), before the crosstalk. drift:
 * [stream->n_channels], all zero before the first frame. Without load drift the same bits as
 * sh_scale_frame.
 */
void sh_scale_frame_steadily(const struct sh_stream *stream,
                             const double *raw,
                             double dt_s,
                             struct sh_load_drift_state *drift,
                             double *value);

/* One sample of one channel, without crosstalk. */
double sh_scale_value(const struct sh_channel *channel, double raw);

/*
 * Slope of the calibration at a sample (unit per count; 1 where is_physical): what one count of
 * noise or quantisation is worth there.
 */
double sh_scale_slope(const struct sh_channel *channel, double raw);

/*
 * Standard uncertainty, from the calibration alone, of the difference between the values at raw
 * and at rest_raw (a net force): the zero cancels, scale and curve do not.
 * JCGM 100:2008, 5.1.2, with scale, zero and quadratic taken as uncorrelated.
 */
double sh_scale_difference_u(const struct sh_channel *channel, double raw, double rest_raw);

/* True where the sample reached either end of the channel's range. */
bool sh_scale_is_clipped(const struct sh_channel *channel, double raw);

#endif
