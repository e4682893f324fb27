/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/live_force.h"

#include <math.h>
#include <string.h>

#include "shot/force_choice.h"
#include "shot/segmenter.h"

#define FINGER_S 0.02

static void find_force(struct sh_live_force *force, const struct sh_session *session)
{
    const struct sh_stream *streams[SH_STREAMS_MAX];
    struct sh_shot_force found;
    for (size_t s = 0; s < session->n_streams; s++) {
        streams[s] = &session->streams[s].stream;
    }
    sh_force_choice_make(streams, session->n_streams, &found);
    force->is_present = found.is_present;
    force->stream = found.stream;
    force->n_channels = found.n_channels;
    force->rate_hz = found.rate_hz;
    memcpy(force->channel, found.channel, sizeof force->channel);
}

static void
put_finger(struct sh_live_force *force, const struct sh_stream *stream, size_t s, size_t c)
{
    const struct sh_channel *channel = &stream->channel[c];
    const size_t i = (size_t)channel->finger - (size_t)SH_FINGER_INDEX;
    if (channel->role != SH_ROLE_FINGER_FORCE || channel->finger == SH_FINGER_NONE ||
        force->finger[i].is_present) {
        return;
    }
    force->finger[i].is_present = true;
    force->finger[i].stream = s;
    force->finger[i].channel = c;
    force->finger_rate_hz[i] = stream->rate_hz;
}

static void find_fingers(struct sh_live_force *force, const struct sh_session *session)
{
    for (size_t s = 0; s < session->n_streams; s++) {
        const struct sh_stream *stream = &session->streams[s].stream;
        for (size_t c = 0; c < stream->n_channels; c++) {
            put_finger(force, stream, s, c);
        }
    }
}

void sh_live_force_init(struct sh_live_force *force, const struct sh_session *session)
{
    const struct sh_quantity *weight = &session->bow.draw_weight_n;
    *force = (struct sh_live_force){.is_present = false};
    find_force(force, session);
    find_fingers(force, session);
    force->threshold_n = SH_SEGMENTER_DRAW_MIN_N;
    if (sh_quantity_is_known(weight)) {
        force->threshold_n =
            fmax(SH_SEGMENTER_DRAW_MIN_N, SH_SEGMENTER_DRAW_RATIO * weight->value);
    }
}

/* Between draws a finger's rest level is followed; in one it stands still. */
static void push_finger(
    struct sh_live_force *force, size_t i, uint64_t frame, const double *value, bool is_filled)
{
    struct sh_live_force_finger *finger = &force->finger[i];
    const bool is_drawn = force->is_present && force->watch.detector.is_drawn;
    const double force_n = value[finger->channel];
    if (!finger->has_value) {
        sh_rest_init(&finger->rest, force->finger_rate_hz[i], 0.0, frame);
    }
    if (!is_drawn) {
        sh_rest_push(&finger->rest, force_n, is_filled);
    }
    const double net_n = force_n - sh_rest_get_level(&finger->rest);
    const double memory = fmax(1.0, FINGER_S * force->finger_rate_hz[i]);
    finger->force_n =
        finger->has_value ? finger->force_n + (net_n - finger->force_n) / memory : net_n;
    finger->has_value = true;
    if (is_drawn) {
        finger->peak_n = fmax(finger->peak_n, finger->force_n);
    }
}

static bool push_watch(struct sh_live_force *force,
                       uint64_t frame,
                       const double *value,
                       bool is_filled,
                       struct sh_release_watch_event *out)
{
    double sum_n = 0.0;
    for (size_t i = 0; i < force->n_channels; i++) {
        sum_n += value[force->channel[i]];
    }
    if (!force->has_begun) {
        force->has_begun = true;
        sh_release_watch_init(&force->watch, force->rate_hz, force->threshold_n, 0.0, frame);
    }
    const bool is_released = sh_release_watch_push(&force->watch, sum_n, is_filled, out);
    const bool is_drawn = force->watch.detector.is_drawn;
    if (is_drawn && !force->was_drawn) {
        for (size_t i = 0; i < SH_LIVE_FORCE_FINGERS; i++) {
            force->finger[i].peak_n = 0.0;
        }
    }
    force->was_drawn = is_drawn;
    return is_released;
}

bool sh_live_force_push(struct sh_live_force *force,
                        size_t stream,
                        uint64_t frame,
                        const double *value,
                        bool is_filled,
                        struct sh_release_watch_event *out)
{
    bool is_released = false;
    if (force->is_present && stream == force->stream) {
        is_released = push_watch(force, frame, value, is_filled, out);
    }
    for (size_t i = 0; i < SH_LIVE_FORCE_FINGERS; i++) {
        if (force->finger[i].is_present && force->finger[i].stream == stream) {
            push_finger(force, i, frame, value, is_filled);
        }
    }
    return is_released;
}

void sh_live_force_set_peak(struct sh_live_force *force,
                            size_t finger,
                            const struct sh_quantity *peak_n)
{
    if (!force->was_drawn && sh_quantity_is_known(peak_n)) {
        force->finger[finger].peak_n = peak_n->value;
    }
}

bool sh_live_force_has_fingers(const struct sh_live_force *force)
{
    for (size_t i = 0; i < SH_LIVE_FORCE_FINGERS; i++) {
        if (force->finger[i].has_value) {
            return true;
        }
    }
    return false;
}
