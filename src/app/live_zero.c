/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <string.h>

#include "app/live_inside.h"

bool sh_live_zero_find_stream(const struct sh_live_page *page,
                              const json_t *object,
                              size_t *out)
{
    const json_t *value = json_object_get(object, "stream");
    const struct sh_session *session = page->session;
    for (size_t i = 0; i < session->n_streams; i++) {
        const bool is_name =
            json_is_string(value) &&
            strcmp(json_string_value(value), session->streams[i].stream.name) == 0;
        if (is_name || (json_is_integer(value) && json_integer_value(value) == (json_int_t)i)) {
            *out = i;
            return true;
        }
    }
    return false;
}

static bool is_force(const struct sh_channel *channel)
{
    return channel->role == SH_ROLE_STRING_FORCE || channel->role == SH_ROLE_FINGER_FORCE;
}

enum sh_status sh_live_zero_read(const struct sh_live_page *page,
                                 size_t s,
                                 double zero[SH_STREAM_CHANNELS_MAX],
                                 struct sh_error *refused)
{
    const struct sh_stream *stream = &page->session->streams[s].stream;
    for (size_t c = 0; c < stream->n_channels; c++) {
        if (!is_force(&stream->channel[c])) {
            continue;
        }
        if (stream->channel[c].n_curve > 0) {
            return sh_error_set(refused, SH_ERR_ARGUMENT, NULL, "calibrate it again",
                                "its curve has its own zero");
        }
        if (!sh_live_sensor_find_mean(&page->sensor, s, c, &zero[c])) {
            return sh_error_set(refused, SH_ERR_SHORT, NULL, "wait two seconds",
                                "not enough has come from it");
        }
        if (sh_live_sensor_is_moving(&page->sensor, s, c)) {
            return sh_error_set(refused, SH_ERR_ARGUMENT, NULL,
                                "let it hang still for two seconds", "it moves");
        }
    }
    return SH_OK;
}

enum sh_status sh_live_zero_read_own(const struct sh_live_page *page,
                                     size_t s,
                                     double zero[SH_STREAM_CHANNELS_MAX],
                                     struct sh_error *refused)
{
    const struct sh_capture_setup *setup = page->config.setup;
    const struct sh_stream *own = sh_live_zeros_find_own(setup, s);
    if (own == NULL || !sh_live_zeros_is_set(setup, s)) {
        return sh_error_set(refused, SH_ERR_ARGUMENT, NULL, NULL, "it has its profile's zero");
    }
    for (size_t c = 0; c < own->n_channels; c++) {
        zero[c] = own->channel[c].zero;
    }
    return SH_OK;
}

void sh_live_zero_put(struct sh_live_page *page,
                      size_t s,
                      const double zero[SH_STREAM_CHANNELS_MAX])
{
    struct sh_stream *stream = &page->config.setup->session->streams[s].stream;
    for (size_t c = 0; c < stream->n_channels; c++) {
        if (is_force(&stream->channel[c])) {
            stream->channel[c].zero = zero[c];
        }
    }
    /* without memory it does not outlive the choice of other sensors */
    (void)sh_live_zeros_keep(&page->zeros, page->config.setup, s);
}
