/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/same_calibration.h"

#include <math.h>
#include <string.h>

static bool is_alike(double a, double b)
{
    return fabs(a - b) <= 0.0;
}

/* Do two channels turn counts into force alike? */
static bool has_same_scale(const struct sh_channel *a, const struct sh_channel *b)
{
    bool is_same = strcmp(a->calibrated, b->calibrated) == 0 && is_alike(a->scale, b->scale) &&
                   is_alike(a->quadratic, b->quadratic) && a->n_curve == b->n_curve;
    for (size_t i = 0; is_same && i < a->n_curve; i++) {
        is_same = is_alike(a->curve[i].counts, b->curve[i].counts) &&
                  is_alike(a->curve[i].value, b->curve[i].value);
    }
    return is_same;
}

/* The channel of a stream that measures what another one does; NULL: none. */
static const struct sh_channel *find_in_stream(const struct sh_stream *stream,
                                               const struct sh_channel *like)
{
    for (size_t c = 0; c < stream->n_channels; c++) {
        if (stream->channel[c].role == like->role &&
            stream->channel[c].finger == like->finger) {
            return &stream->channel[c];
        }
    }
    return NULL;
}

/* Has a session a channel like that, calibrated otherwise? */
static bool has_other(const struct sh_session *session, const struct sh_channel *channel)
{
    const struct sh_channel *like = NULL;
    for (size_t s = 0; s < session->n_streams && like == NULL; s++) {
        like = find_in_stream(&session->streams[s].stream, channel);
    }
    return like != NULL && !has_same_scale(channel, like);
}

static bool is_force(const struct sh_channel *channel)
{
    return channel->role == SH_ROLE_STRING_FORCE || channel->role == SH_ROLE_FINGER_FORCE;
}

bool sh_same_calibration_is_other(const struct sh_session *a, const struct sh_session *b)
{
    bool is_other = false;
    for (size_t s = 0; s < a->n_streams; s++) {
        const struct sh_stream *stream = &a->streams[s].stream;
        for (size_t c = 0; c < stream->n_channels; c++) {
            const struct sh_channel *channel = &stream->channel[c];
            is_other = is_other || (is_force(channel) && has_other(b, channel));
        }
    }
    return is_other;
}
