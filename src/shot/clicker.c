/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shot/clicker.h"

#include <math.h>
#include <stdbool.h>

#include "shot/blow.h"

#define CLOSED_LEVEL        0.5
#define CONTACT_PROBABILITY 0.999

bool sh_clicker_get_span(const struct sh_shot *shot, double *from_s, double *until_s)
{
    const struct sh_quantity *over_s = &shot->event_s[SH_EVENT_RELEASE];
    if (!sh_quantity_is_known(over_s)) {
        over_s = &shot->event_s[SH_EVENT_LET_DOWN];
    }
    if (!sh_quantity_is_known(over_s)) {
        return false;
    }
    *until_s = over_s->value - SH_CLICKER_GUARD_S - SH_CLICKER_GUARD_U * over_s->u;
    *from_s = over_s->value - SH_CLICKER_BACK_S;
    const struct sh_quantity *full_s = &shot->event_s[SH_EVENT_FULL_DRAW];
    const struct sh_quantity *start_s = &shot->event_s[SH_EVENT_DRAW_START];
    if (sh_quantity_is_known(full_s)) {
        *from_s = full_s->value;
    } else if (sh_quantity_is_known(start_s)) {
        *from_s = fmax(*from_s, start_s->value);
    }
    return *until_s > *from_s;
}

static size_t find_frame(const struct sh_shot_stream *stream, double delay_s, double time_s)
{
    const double index = floor(sh_shot_stream_index(stream, delay_s, time_s));
    return (size_t)fmin(fmax(index, 0.0), (double)stream->n_frames - 1.0);
}

static bool is_closed(const struct sh_shot_stream *stream, size_t c, size_t i)
{
    return stream->value[c][i] > CLOSED_LEVEL;
}

/* The last frame in first .. last at which the contact is closed; last + 1 where none is. */
static size_t
find_closed(const struct sh_shot_stream *stream, size_t c, size_t first, size_t last)
{
    for (size_t i = last + 1; i-- > first;) {
        if (is_closed(stream, c, i)) {
            return i;
        }
    }
    return last + 1;
}

/* Goes back from the last closed frame over bounces to where the contact first opened. */
static size_t
find_opening(const struct sh_shot_stream *stream, size_t c, size_t first, size_t closed)
{
    const double rate_hz = stream->stream->rate_hz;
    const size_t bounce = (size_t)ceil(SH_CLICKER_BOUNCE_S * rate_hz);
    size_t opening = closed;
    size_t i = closed;
    while (i > first && closed - i < bounce) {
        i--;
        /* closed before, open at i + 1: an earlier opening within the bounce */
        if (is_closed(stream, c, i) && !is_closed(stream, c, i + 1)) {
            opening = i;
            closed = i;
        }
    }
    return opening;
}

/* Was the contact closed for SH_CLICKER_CLOSED_S up to a frame? */
static bool was_closed(const struct sh_shot_stream *stream, size_t c, size_t i)
{
    const size_t needed = (size_t)ceil(SH_CLICKER_CLOSED_S * stream->stream->rate_hz);
    if (i + 1 < needed) {
        return false;
    }
    for (size_t k = 0; k < needed; k++) {
        if (!is_closed(stream, c, i - k)) {
            return false;
        }
    }
    return true;
}

/* The contact's word; false where it has none: it never was closed. */
static bool ask_contact(const struct sh_shot_stream *stream,
                        size_t c,
                        double from_s,
                        double until_s,
                        struct sh_shot *shot)
{
    const struct sh_channel *channel = &stream->stream->channel[c];
    if (stream->n_frames == 0) {
        return false;
    }
    const size_t first = find_frame(stream, channel->delay_s, from_s);
    const size_t last = find_frame(stream, channel->delay_s, until_s);
    const size_t closed = find_closed(stream, c, first, last);
    if (closed > last) {
        return false;
    }
    struct sh_quantity *clicker_s = &shot->event_s[SH_EVENT_CLICKER];
    shot->clicker_sensor = SH_CLICKER_NONE;
    if (closed == last) {
        shot->strip = SH_STRIP_CONTACT_CLOSED;
        *clicker_s = sh_quantity_unknown(SH_WHY_NOT_SEEN);
        return true;
    }
    const size_t opening = find_opening(stream, c, first, closed);
    if (!was_closed(stream, c, opening)) {
        return false;
    }
    if ((stream->flags[opening + 1] & SH_SHOT_FLAG_FILLED) != 0) {
        *clicker_s = sh_quantity_unknown(SH_WHY_GAP);
        return true;
    }
    const double step_s = 1.0 / stream->stream->rate_hz;
    const double time_s = sh_shot_stream_time(stream, channel->delay_s, (double)opening + 0.5);
    *clicker_s = sh_quantity_known(
        time_s, hypot(step_s / sqrt(12.0), hypot(channel->delay_u_s, stream->time_u_s)));
    shot->clicker_sensor = SH_CLICKER_CONTACT;
    shot->clicker_probability = CONTACT_PROBABILITY;
    shot->strip = SH_STRIP_FELL;
    return true;
}

/* All channels of a role in the first stream that has one. */
static bool
list_channels(const struct sh_shot_view *view, enum sh_role role, struct sh_blow_config *config)
{
    size_t s = 0;
    size_t first = 0;
    if (!sh_shot_view_find(view, role, SH_AXIS_NONE, SH_FINGER_NONE, &s, &first)) {
        return false;
    }
    config->stream = &view->stream[s];
    config->n_channels = 0;
    for (size_t c = first; c < config->stream->stream->n_channels; c++) {
        if (config->stream->stream->channel[c].role == role) {
            config->channel[config->n_channels++] = c;
        }
    }
    return true;
}

static void
take_blow(const struct sh_blow *blow, enum sh_clicker_sensor sensor, struct sh_shot *shot)
{
    shot->clicker_probability = blow->probability;
    shot->event_s[SH_EVENT_CLICKER] = blow->time_s;
    shot->clicker_sensor = SH_CLICKER_NONE;
    if (!sh_quantity_is_known(&blow->time_s)) {
        return;
    }
    if (blow->probability < SH_CLICKER_PROBABILITY_MIN) {
        shot->event_s[SH_EVENT_CLICKER] = sh_quantity_unknown(SH_WHY_NOT_SEEN);
        return;
    }

    shot->clicker_sensor = sensor;
    shot->strip = SH_STRIP_FELL;
}

/* Looks for the blow in acceleration or sound; false where there is no such channel. */
static bool ask_blow(const struct sh_clicker_config *config,
                     const struct sh_shot_view *view,
                     enum sh_clicker_sensor sensor,
                     struct sh_blow_config *search,
                     struct sh_shot *shot)
{
    const bool is_sound = sensor == SH_CLICKER_SOUND;
    const enum sh_role role = is_sound ? SH_ROLE_SOUND : SH_ROLE_BOW_ACCELERATION;
    if (!list_channels(view, role, search) || 4 * search->stream->n_frames > config->n_work) {
        return false;
    }
    search->corner_hz =
        is_sound ? SH_CLICKER_SOUND_CORNER_HZ : SH_CLICKER_ACCELERATION_CORNER_HZ;
    search->prior = config->prior;
    search->foreign_per_s = is_sound ? SH_CLICKER_FOREIGN_PER_S : 0.0;
    struct sh_blow blow;
    sh_blow_find(search, config->work, &blow);
    take_blow(&blow, sensor, shot);
    return blow.time_s.why != SH_WHY_TOO_SLOW;
}

void sh_clicker_find(const struct sh_clicker_config *config,
                     const struct sh_shot_view *view,
                     struct sh_shot *shot)
{
    struct sh_quantity *clicker_s = &shot->event_s[SH_EVENT_CLICKER];
    struct sh_blow_config search = {0};
    size_t s = 0;
    size_t c = 0;
    shot->clicker_sensor = SH_CLICKER_NONE;
    shot->clicker_probability = 0.0;
    shot->strip = SH_STRIP_UNKNOWN;
    *clicker_s = sh_quantity_unknown(SH_WHY_NO_CHANNEL);
    if (!(config->prior > 0.0)) {
        *clicker_s = sh_quantity_unknown(SH_WHY_NOT_APPLICABLE);
        return;
    }
    if (!sh_clicker_get_span(shot, &search.from_s, &search.until_s)) {
        *clicker_s = sh_quantity_unknown(shot->event_s[SH_EVENT_RELEASE].why);
        if (sh_quantity_is_known(&shot->event_s[SH_EVENT_RELEASE])) {
            *clicker_s = sh_quantity_unknown(SH_WHY_TOO_SHORT);
        }
        return;
    }
    if (sh_shot_view_find(view, SH_ROLE_CLICKER_CONTACT, SH_AXIS_NONE, SH_FINGER_NONE, &s,
                          &c)) {
        *clicker_s = sh_quantity_unknown(SH_WHY_NOT_SEEN);
        if (ask_contact(&view->stream[s], c, search.from_s, search.until_s, shot)) {

            return;
        }
    }
    if (shot->kind == SH_SHOT_LET_DOWN) {
        if (clicker_s->why == SH_WHY_NO_CHANNEL) {
            *clicker_s = sh_quantity_unknown(SH_WHY_NOT_APPLICABLE);
        }
        return;
    }
    if (!ask_blow(config, view, SH_CLICKER_ACCELERATION, &search, shot)) {
        (void)ask_blow(config, view, SH_CLICKER_SOUND, &search, shot);
    }
}
