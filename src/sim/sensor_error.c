/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sim/sensor_error.h"

static void draw_calibration(struct sh_channel *channel, struct sh_random *random)
{
    channel->scale += channel->scale_u * sh_random_get_normal(random);
    channel->quadratic += channel->quadratic_u * sh_random_get_normal(random);
    channel->zero += channel->zero_u * sh_random_get_normal(random);
    const double curve = sh_random_get_normal(random);
    for (size_t i = 0; i < channel->n_curve; i++) {
        channel->curve[i].value += channel->curve[i].u * curve;
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
}
