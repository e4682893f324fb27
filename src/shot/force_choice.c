/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shot/force_choice.h"

/* The force of one stream: its string force, or its fingers. */
static struct sh_shot_force find_in_stream(const struct sh_stream *stream, size_t s)
{
    struct sh_shot_force force = {
        .is_finger_sum = true, .stream = s, .rate_hz = stream->rate_hz};
    for (size_t c = 0; c < stream->n_channels; c++) {
        if (stream->channel[c].role == SH_ROLE_STRING_FORCE) {
            force.is_finger_sum = false;
            force.n_channels = 1;
            force.channel[0] = c;
            break;
        }
        if (stream->channel[c].role == SH_ROLE_FINGER_FORCE) {
            force.channel[force.n_channels++] = c;
        }
    }
    force.is_present = force.n_channels > 0;
    return force;
}

static void set_delay(const struct sh_stream *stream, struct sh_shot_force *force)
{
    for (size_t i = 0; i < force->n_channels; i++) {
        const struct sh_channel *channel = &stream->channel[force->channel[i]];
        force->delay_s += channel->delay_s / (double)force->n_channels;
        force->delay_u_s += channel->delay_u_s / (double)force->n_channels;
    }
}

void sh_force_choice_make(const struct sh_stream *const *stream,
                          size_t n_streams,
                          struct sh_shot_force *out)
{
    bool has_string = false;
    *out = (struct sh_shot_force){.is_present = false};
    for (size_t s = 0; s < n_streams && !has_string; s++) {
        const struct sh_shot_force force = find_in_stream(stream[s], s);
        has_string = force.is_present && !force.is_finger_sum;
        if (has_string || force.n_channels > out->n_channels) {
            *out = force;
        }
    }
    if (out->is_present) {
        set_delay(stream[out->stream], out);
    }
}
