/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "metrology/scale.h"

#include <math.h>

/* The curve's segment that holds raw; the first and the last reach on outwards. */
static size_t find_segment(const struct sh_channel *channel, double raw)
{
    size_t low = 0;
    size_t high = channel->n_curve - 1;
    while (high - low > 1) {
        size_t middle = (low + high) / 2;
        if (raw < channel->curve[middle].counts) {
            high = middle;
        } else {
            low = middle;
        }
    }
    return low;
}

static double curve_slope(const struct sh_curve_point *point)
{
    return (point[1].value - point[0].value) / (point[1].counts - point[0].counts);
}

double sh_scale_value(const struct sh_channel *channel, double raw)
{
    if (channel->is_physical) {
        return raw;
    }
    if (channel->n_curve >= 2) {
        const struct sh_curve_point *point = &channel->curve[find_segment(channel, raw)];
        return point->value + (raw - point->counts) * curve_slope(point);
    }
    double counts = raw - channel->zero;
    return counts * channel->scale + channel->quadratic * (counts * counts);
}

double sh_scale_slope(const struct sh_channel *channel, double raw)
{
    if (channel->is_physical) {
        return 1.0;
    }
    if (channel->n_curve >= 2) {
        return curve_slope(&channel->curve[find_segment(channel, raw)]);
    }
    return channel->scale + 2.0 * channel->quadratic * (raw - channel->zero);
}

static void mix(const struct sh_stream *stream, double *value)
{
    if (!stream->has_crosstalk) {
        return;
    }
    double mixed[SH_STREAM_CHANNELS_MAX];
    for (size_t i = 0; i < stream->n_channels; i++) {
        mixed[i] = value[i];
    }
    for (size_t i = 0; i < stream->n_channels; i++) {
        double sum = 0.0;
        for (size_t j = 0; j < stream->n_channels; j++) {
            sum += stream->crosstalk[i][j] * mixed[j];
        }
        value[i] = sum;
    }
}

void sh_scale_frame(const struct sh_stream *stream, const double *raw, double *value)
{
    for (size_t i = 0; i < stream->n_channels; i++) {
        value[i] = sh_scale_value(&stream->channel[i], raw[i]);
    }
    mix(stream, value);
}

void sh_scale_frame_steadily(const struct sh_stream *stream,
                             const double *raw,
                             double dt_s,
                             struct sh_load_drift_state *drift,
                             double *value)
{
    for (size_t i = 0; i < stream->n_channels; i++) {
        const struct sh_channel *channel = &stream->channel[i];
        value[i] =
            sh_load_drift_push(&drift[i], channel, sh_scale_value(channel, raw[i]), dt_s);
    }
    mix(stream, value);
}

/* Linear between the points' uncertainties, the end points' beyond them. */
static double curve_u(const struct sh_channel *channel, double raw)
{
    const struct sh_curve_point *point = &channel->curve[find_segment(channel, raw)];
    double part = (raw - point[0].counts) / (point[1].counts - point[0].counts);
    part = fmin(1.0, fmax(0.0, part));
    return point[0].u + part * (point[1].u - point[0].u);
}

double sh_scale_difference_u(const struct sh_channel *channel, double raw, double rest_raw)
{
    if (channel->is_physical) {
        return channel->scale_u * fabs(raw - rest_raw);
    }
    if (channel->n_curve >= 2) {
        return hypot(curve_u(channel, raw), curve_u(channel, rest_raw));
    }
    double counts = raw - channel->zero;
    double rest_counts = rest_raw - channel->zero;
    double by_scale = (counts - rest_counts) * channel->scale_u;
    double by_square = (counts * counts - rest_counts * rest_counts) * channel->quadratic_u;
    double by_zero = 2.0 * channel->quadratic * (counts - rest_counts) * channel->zero_u;
    return sqrt(by_scale * by_scale + by_square * by_square + by_zero * by_zero);
}

bool sh_scale_is_clipped(const struct sh_channel *channel, double raw)
{
    return channel->has_range && (raw <= channel->range_low || raw >= channel->range_high);
}
