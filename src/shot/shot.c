/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shot/shot.h"

#include <assert.h>
#include <math.h>

const char *sh_shot_kind_name(enum sh_shot_kind kind)
{
    switch (kind) {
    case SH_SHOT_SHOT:
        return "shot";
    case SH_SHOT_LET_DOWN:
        return "let-down";
    case SH_SHOT_UNRESOLVED:
        return "unresolved";
    }
    return "";
}

const char *sh_shot_clicker_sensor_name(enum sh_clicker_sensor sensor)
{
    switch (sensor) {
    case SH_CLICKER_NONE:
        return "";
    case SH_CLICKER_CONTACT:
        return "contact";
    case SH_CLICKER_ACCELERATION:
        return "acceleration";
    case SH_CLICKER_SOUND:
        return "sound";
    }
    return "";
}

const char *sh_shot_event_stem(enum sh_event event)
{
    switch (event) {
#define X(name, stem, title)                                                                   \
    case name:                                                                                 \
        return stem;
        SH_EVENT_LIST(X)
#undef X
    case SH_EVENT_COUNT:
        break;
    }
    return "";
}

const char *sh_shot_event_title(enum sh_event event)
{
    switch (event) {
#define X(name, stem, title)                                                                   \
    case name:                                                                                 \
        return title;
        SH_EVENT_LIST(X)
#undef X
    case SH_EVENT_COUNT:
        break;
    }
    return "";
}

static bool is_wanted(const struct sh_channel *channel,
                      enum sh_role role,
                      enum sh_axis axis,
                      enum sh_finger finger)
{
    return channel->role == role && (axis == SH_AXIS_NONE || channel->axis == axis) &&
           (finger == SH_FINGER_NONE || channel->finger == finger);
}

static bool find_channel(const struct sh_stream *stream,
                         enum sh_role role,
                         enum sh_axis axis,
                         enum sh_finger finger,
                         size_t *channel)
{
    for (size_t c = 0; c < stream->n_channels; c++) {
        if (is_wanted(&stream->channel[c], role, axis, finger)) {
            *channel = c;
            return true;
        }
    }
    return false;
}

bool sh_shot_view_find(const struct sh_shot_view *view,
                       enum sh_role role,
                       enum sh_axis axis,
                       enum sh_finger finger,
                       size_t *stream,
                       size_t *channel)
{
    for (size_t s = 0; s < view->n_streams; s++) {
        if (find_channel(view->stream[s].stream, role, axis, finger, channel)) {
            *stream = s;
            return true;
        }
    }
    return false;
}

double sh_shot_stream_index(const struct sh_shot_stream *stream, double delay_s, double time_s)
{
    assert(stream->n_frames > 0);
    const double *at_s = stream->time_s;
    double read_s = time_s + delay_s;
    double rate_hz = stream->stream->rate_hz;
    size_t last = stream->n_frames - 1;
    if (read_s < at_s[0]) {
        return (read_s - at_s[0]) * rate_hz;
    }
    if (read_s >= at_s[last]) {
        return (double)last + (read_s - at_s[last]) * rate_hz;
    }
    size_t low = 0;
    size_t high = last;
    while (high - low > 1) {
        size_t middle = low + (high - low) / 2;
        if (at_s[middle] <= read_s) {
            low = middle;
        } else {
            high = middle;
        }
    }
    return (double)low + (read_s - at_s[low]) / (at_s[high] - at_s[low]);
}

double sh_shot_stream_time(const struct sh_shot_stream *stream, double delay_s, double index)
{
    assert(stream->n_frames > 0);
    const double *at_s = stream->time_s;
    double rate_hz = stream->stream->rate_hz;
    size_t last = stream->n_frames - 1;
    if (index < 0.0) {
        return at_s[0] + index / rate_hz - delay_s;
    }
    if (index >= (double)last) {
        return at_s[last] + (index - (double)last) / rate_hz - delay_s;
    }
    size_t below = (size_t)floor(index);
    double share = index - (double)below;
    return at_s[below] + share * (at_s[below + 1] - at_s[below]) - delay_s;
}
