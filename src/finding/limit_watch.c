/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "finding/limit_watch.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "finding/limit_watch_inside.h"
#include "metrology/scale.h"

#define DRAW_MIN_N 20.0 /* docs/definitions.md: what counts as a draw */
#define DRAW_RATIO 0.35

/* The channel of a stream; false where it has none. */
static bool find_channel(const struct sh_stream *stream,
                         enum sh_role role,
                         enum sh_finger finger,
                         size_t *channel)
{
    for (size_t k = 0; k < stream->n_channels; k++) {
        if (stream->channel[k].role == role && stream->channel[k].finger == finger) {
            *channel = k;
            return true;
        }
    }
    return false;
}

static bool find_place(const struct sh_session *session,
                       enum sh_role role,
                       enum sh_finger finger,
                       struct place *out)
{
    size_t channel = 0;
    for (size_t i = 0; i < session->n_streams; i++) {
        if (find_channel(&session->streams[i].stream, role, finger, &channel)) {
            *out = (struct place){.is_there = true, .stream = i, .channel = channel};
            return true;
        }
    }
    return false;
}

static void find_places(struct sh_limit_watch *watch)
{
    const struct sh_session *session = watch->config.session;
    for (size_t i = 0; i < FINGERS; i++) {
        enum sh_finger finger = (enum sh_finger)(SH_FINGER_INDEX + (int)i);
        if (find_place(session, SH_ROLE_FINGER_FORCE, finger, &watch->place[i]) &&
            !watch->has_force) {
            watch->has_force = true;
            watch->main_stream = watch->place[i].stream;
        }
    }
    if (find_place(session, SH_ROLE_STRING_FORCE, SH_FINGER_NONE, &watch->place[STRING])) {
        watch->has_force = true;
        watch->main_stream = watch->place[STRING].stream;
    }
    if (watch->has_force) {
        const struct sh_quantity *weight = &session->bow.draw_weight_n;
        double threshold_n = sh_quantity_is_known(weight)
                                 ? fmax(DRAW_MIN_N, DRAW_RATIO * weight->value)
                                 : DRAW_MIN_N;
        watch->pull = sh_limit_pull_make(session->streams[watch->main_stream].stream.rate_hz,
                                         threshold_n);
    }
}

static enum sh_status add_limits(struct sh_limit_watch *watch, struct sh_error *err)
{
    const struct sh_session *session = watch->config.session;
    for (size_t i = 0; i < session->n_marks; i++) {
        const struct sh_mark *mark = &session->marks[i];
        if (!sh_limit_is_in_force(mark, watch->date)) {
            continue;
        }
        if (watch->n == SH_LIMIT_WATCH_LIMITS_MAX) {
            return sh_error_set(err, SH_ERR_FULL, NULL, "end limits that are no longer needed",
                                "over %u limits are in force", SH_LIMIT_WATCH_LIMITS_MAX);
        }
        struct entry *entry = &watch->entry[watch->n++];
        *entry = (struct entry){.mark = mark,
                                .finger = sh_limit_tally_get_finger(mark),
                                .is_span = strcmp(mark->per, "shot") != 0,
                                .near_s = (double)-INFINITY,
                                .reached_s = (double)-INFINITY};
        (void)sh_limit_kind_find(mark->what, &entry->kind);
    }
    return SH_OK;
}

enum sh_status sh_limit_watch_open(const struct sh_limit_watch_config *config,
                                   struct sh_limit_watch **out,
                                   struct sh_error *err)
{
    struct sh_limit_watch *watch = calloc(1, sizeof *watch);
    if (watch == NULL) {
        return sh_error_set(err, SH_ERR_MEMORY, NULL, NULL, "out of memory");
    }
    watch->config = *config;
    for (size_t i = 0; i < FINGERS; i++) {
        watch->unknown_s[i] = (double)-INFINITY;
    }
    (void)snprintf(watch->date, sizeof watch->date, "%s", config->date);
    find_places(watch);
    enum sh_status status = add_limits(watch, err);
    if (status == SH_OK) {
        *out = watch;
    } else {
        sh_limit_watch_close(&watch);
    }
    return status;
}

void sh_limit_watch_close(struct sh_limit_watch **watch)
{
    if (watch == NULL || *watch == NULL) {
        return;
    }
    for (size_t i = 0; i <= FINGERS; i++) {
        sh_limit_lane_close(&(*watch)->place[i].lane);
    }
    free((*watch)->told);
    free(*watch);
    *watch = NULL;
}

size_t sh_limit_watch_get_n(const struct sh_limit_watch *watch)
{
    return watch->n;
}

const struct sh_limit_tally *sh_limit_watch_get_tally(const struct sh_limit_watch *watch)
{
    return &watch->tally;
}

enum sh_limit_state sh_limit_watch_get_state(const struct sh_limit_watch *watch,
                                             const struct sh_mark *limit)
{
    for (size_t i = 0; i < watch->n; i++) {
        if (watch->entry[i].mark == limit) {
            return watch->entry[i].state;
        }
    }
    return SH_LIMIT_UNKNOWN;
}

bool sh_limit_watch_is_quiet(const struct sh_limit_watch *watch)
{
    return watch->has_force &&
           (double)watch->pull.n_quiet >= SH_LIMIT_WATCH_QUIET_S * watch->pull.rate_hz;
}

static void begin_pull(struct sh_limit_watch *watch)
{
    for (size_t i = 0; i < FINGERS; i++) {
        watch->n_low[i] = 0;
        watch->is_unknown[i] = false;
        if (watch->place[i].has_begun) {
            sh_limit_lane_begin(&watch->place[i].lane);
        }
    }
    for (size_t i = 0; i < watch->n; i++) {
        struct entry *entry = &watch->entry[i];
        entry->has_near = entry->is_span && entry->has_near;
        entry->has_reached = entry->is_span && entry->has_reached;
    }
}

/* A finger's running figures, added to those of a draw that has ended. */
static void keep_finger(const struct sh_limit_watch *watch, size_t finger, struct pending *to)
{
    const struct place *place = &watch->place[finger];
    bool is_unknown = !place->has_begun || watch->is_unknown[finger];
    struct sh_limit_tally_sum *peak = &to->peak_n[finger];
    to->impulse_n_s[finger].n_unknown += is_unknown ? 1 : 0;
    peak->n_unknown += is_unknown ? 1 : 0;
    if (!place->has_begun) {
        return;
    }
    const struct sh_quantity largest = sh_limit_lane_get_peak_n(&place->lane);
    const struct sh_quantity impulse =
        sh_limit_lane_get_impulse_n_s(&place->lane, watch->pull.ended_largest_n);
    to->impulse_n_s[finger].value += impulse.value;
    to->impulse_n_s[finger].u += impulse.u;
    if (largest.value > peak->value) {
        peak->value = largest.value;
        peak->u = largest.u;
    }
}

/* Keeps the running figures of a draw until it has been measured. */
static void end_draw(struct sh_limit_watch *watch)
{
    size_t at = watch->n_pending < PENDING_MAX ? watch->n_pending++ : PENDING_MAX - 1;
    struct pending *to = &watch->pending[at];
    watch->has_end = true;
    watch->end_s = watch->now_s - SH_LIMIT_PULL_GONE_S;
    to->end_s = watch->end_s;
    to->n_draws++;
    for (size_t i = 0; i < FINGERS; i++) {
        keep_finger(watch, i, to);
    }
    begin_pull(watch);
}

static double find_total_n(const struct sh_limit_watch *watch)
{
    double total_n = 0.0;
    if (watch->place[STRING].has_begun) {
        return watch->place[STRING].lane.net_n;
    }
    for (size_t i = 0; i < FINGERS; i++) {
        total_n += watch->place[i].has_begun ? watch->place[i].lane.net_n : 0.0;
    }
    return total_n;
}

/* One sample of the stream that shows the draw. */
static enum sh_status step(struct sh_limit_watch *watch, struct sh_error *err)
{
    const double total_n = find_total_n(watch);
    const enum sh_limit_pull_event event = sh_limit_pull_push(&watch->pull, total_n);
    enum sh_status status = SH_OK;
    if (event == SH_LIMIT_PULL_BEGAN) {
        begin_pull(watch);
    }
    /* in a draw its begin is settled: the fall at its end is none */
    bool is_rising =
        watch->pull.is_pulled && !watch->pull.is_drawn && event != SH_LIMIT_PULL_ENDED;
    for (size_t i = 0; i < FINGERS && is_rising; i++) {
        if (watch->place[i].has_begun) {
            sh_limit_lane_mark_total(&watch->place[i].lane, total_n);
        }
    }
    if (event == SH_LIMIT_PULL_DRAWN) {
        status = sh_limit_check_draw(watch, err);
    }
    if (status == SH_OK && watch->pull.is_pulled && event != SH_LIMIT_PULL_ENDED) {
        status = sh_limit_check_sensors(watch, err);
        status = status == SH_OK ? sh_limit_check_forces(watch, err) : status;
    }
    if (event == SH_LIMIT_PULL_ENDED) {
        end_draw(watch);
    }
    return status;
}

/* Opens the lanes of a stream with its first frame. */
static enum sh_status
begin_lanes(struct sh_limit_watch *watch, const struct sh_block *block, struct sh_error *err)
{
    const struct sh_stream *stream = &watch->config.session->streams[block->stream].stream;
    for (size_t i = 0; i <= FINGERS; i++) {
        struct place *place = &watch->place[i];
        if (!place->is_there || place->stream != block->stream || place->has_begun) {
            continue;
        }
        if (sh_limit_lane_open(&stream->channel[place->channel], stream->rate_hz,
                               block->first_frame, &place->lane) != SH_OK) {
            return sh_error_set(err, SH_ERR_MEMORY, NULL, NULL, "out of memory");
        }
        place->has_begun = true;
    }
    return SH_OK;
}

/* One frame into the lanes of its stream. */
static void push_lanes(struct sh_limit_watch *watch, const struct sh_block *block, size_t frame)
{
    double value[SH_STREAM_CHANNELS_MAX];
    const double *raw = block->raw + frame * block->n_channels;
    const struct sh_stream *stream = &watch->config.session->streams[block->stream].stream;
    sh_scale_frame_steadily(stream, raw, 1.0 / stream->rate_hz, watch->drift[block->stream],
                            value);
    for (size_t k = 0; k <= FINGERS; k++) {
        struct place *place = &watch->place[k];
        if (place->has_begun && place->stream == block->stream) {
            sh_limit_lane_push(&place->lane, raw[place->channel], value[place->channel],
                               block->is_filled, watch->pull.is_drawn);
        }
    }
}

enum sh_status sh_limit_watch_push(struct sh_limit_watch *watch,
                                   const struct sh_block *block,
                                   double first_s,
                                   double step_s,
                                   struct sh_error *err)
{
    if (watch->n == 0 || !watch->has_force) {
        return SH_OK;
    }
    enum sh_status status = begin_lanes(watch, block, err);
    for (size_t i = 0; i < block->n_frames && status == SH_OK; i++) {
        push_lanes(watch, block, i);
        if (block->stream == watch->main_stream) {
            watch->now_s = first_s + (double)i * step_s;
            status = step(watch, err);
        }
    }
    return status;
}
