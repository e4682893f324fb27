/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sim/sensor_error.h"

#include <math.h>

#define CURVE_NORMAL_MAX 3.0

static void draw_calibration(struct sh_channel *channel, struct sh_random *random)
{
    channel->scale += channel->scale_u * sh_random_get_normal(random);
    channel->quadratic += channel->quadratic_u * sh_random_get_normal(random);
    channel->zero += channel->zero_u * sh_random_get_normal(random);
    const double normal = sh_random_get_normal(random);
    const double curve = fmin(CURVE_NORMAL_MAX, fmax(-CURVE_NORMAL_MAX, normal));
    for (size_t i = 0; i < channel->n_curve; i++) {
        if (channel->curve[i].value > 0.0) {
            channel->curve[i].value += channel->curve[i].u * curve;
        }
    }
}

static void draw_crosstalk(struct sh_stream_source_config *config, struct sh_random *random)
{
    struct sh_stream *stream = &config->stream;
    const size_t n = stream->n_channels;
    for (size_t pair = 0; pair < n * n; pair++) {
        const size_t i = pair / n;
        const size_t k = pair % n;
        if (i != k) {
            stream->crosstalk[i][k] += config->crosstalk_u * sh_random_get_normal(random);
        }
    }
}

static void draw_load_drift(struct sh_stream_source_config *config, struct sh_random *random)
{
    for (size_t i = 0; i < config->stream.n_channels; i++) {
        config->stream.channel[i].load_drift_ratio *=
            1.0 + config->load_drift_u_ratio * sh_random_get_normal(random);
    }
}

/* The first channel of the same role: one converter, one lag. */
static size_t find_first(const struct sh_stream *stream, size_t channel)
{
    size_t first = 0;
    while (stream->channel[first].role != stream->channel[channel].role) {
        first++;
    }
    return first;
}

void sh_sensor_error_draw(struct sh_stream_source_config *config, struct sh_random *random)
{
    struct sh_stream *stream = &config->stream;
    double lag[SH_STREAM_CHANNELS_MAX];
    for (size_t c = 0; c < stream->n_channels && c < SH_STREAM_CHANNELS_MAX; c++) {
        struct sh_channel *channel = &stream->channel[c];
        const size_t first = find_first(stream, c);
        lag[c] = first == c ? sh_random_get_normal(random) : lag[first];
        channel->delay_s += channel->delay_u_s * lag[c];
        if (!channel->is_physical) {
            draw_calibration(channel, random);
        }
    }
    const double offset = sh_random_get_normal(random);
    config->offset_error_s += config->anchor_period_s > 0.0 ? 0.0 : stream->offset_u_s * offset;
    if (stream->has_crosstalk && config->crosstalk_u > 0.0) {
        draw_crosstalk(config, random);
    }
    if (config->load_drift_u_ratio > 0.0) {
        draw_load_drift(config, random);
    }
}
