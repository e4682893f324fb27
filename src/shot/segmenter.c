/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shot/segmenter.h"

#include <math.h>
#include <stdlib.h>

#include "metrology/scale.h"
#include "shot/clicker.h"
#include "shot/detector.h"
#include "shot/finisher.h"
#include "shot/force_scale.h"
#include "shot/frame_flags.h"
#include "shot/lanes.h"
#include "shot/shock.h"
#include "shot/spike.h"

#define CHUNK_FRAMES 256u /* frames between two looks for finished draws */
#define SPARE_S      1.0  /* of history left when a stream that stands still is given up */

struct sh_segmenter {
    struct sh_segmenter_config config;
    struct sh_shot_sink sink;
    struct sh_lanes lanes;
    bool has_begun[SH_STREAMS_MAX];
    struct sh_spike spike[SH_STREAMS_MAX]; /* the force is watched a frame late, mended */
    double threshold_n;
    double resolution_n;
    struct sh_detector detector; /* of the force, */
    struct sh_shock shock;       /* or without one */
    struct sh_finisher finisher;
    struct sh_finisher_draw pending[SH_SEGMENTER_PENDING_MAX];
    size_t n_pending;
    unsigned n_shots;
    bool is_flushed;
};

struct sh_segmenter_config sh_segmenter_config_default(void)
{
    return (struct sh_segmenter_config){.reading = SH_TIMEBASE_FORWARD};
}

static enum sh_status check_config(const struct sh_segmenter_config *config,
                                   struct sh_error *err)
{
    if (config->n_streams == 0 || config->n_streams > SH_STREAMS_MAX) {
        return sh_error_set(err, SH_ERR_ARGUMENT, "segmenter", "give 1 to 8 streams",
                            "%zu streams", config->n_streams);
    }
    const struct sh_quantity *weight_n = &config->bow.draw_weight_n;
    if (sh_quantity_is_known(weight_n) &&
        (!(weight_n->value > 0.0) || !isfinite(weight_n->value))) {
        return sh_error_set(err, SH_ERR_ARGUMENT, "bow", "give the draw weight in N",
                            "a draw weight of %g N", weight_n->value);
    }
    if (!(config->median_draw_n >= 0.0) || !isfinite(config->median_draw_n)) {
        return sh_error_set(err, SH_ERR_ARGUMENT, "segmenter", "give 0 where it is unknown",
                            "a median draw of %g N", config->median_draw_n);
    }
    return SH_OK;
}

static double get_threshold_n(const struct sh_segmenter_config *config)
{
    const struct sh_quantity *weight_n = &config->bow.draw_weight_n;
    const double draw_n =
        sh_quantity_is_known(weight_n) ? weight_n->value : config->median_draw_n;
    return fmax(SH_SEGMENTER_DRAW_MIN_N, SH_SEGMENTER_DRAW_RATIO * draw_n);
}

static double get_clicker_prior(const struct sh_bow *bow)
{
    switch (bow->clicker) {
    case SH_ANSWER_NO:
        return 0.0;
    case SH_ANSWER_YES:
        return SH_CLICKER_PRIOR_YES;
    case SH_ANSWER_UNKNOWN:
        break;
    }
    return SH_CLICKER_PRIOR_UNKNOWN;
}

/* The detector of the force, or without one the watch for shocks. */
static void start_watch(struct sh_segmenter *segmenter, uint64_t first_frame)
{
    const struct sh_lanes *lanes = &segmenter->lanes;
    const double rate_hz = sh_lanes_get_leader(lanes)->stream.rate_hz;
    if (lanes->force.is_present) {
        sh_detector_init(&segmenter->detector, rate_hz, segmenter->threshold_n,
                         segmenter->resolution_n, first_frame);
    } else {
        sh_shock_init(&segmenter->shock, rate_hz, lanes->axis, lanes->n_axes, first_frame);
    }
}

/* All that one run changes, but the lanes and the finisher. */
static void start_run(struct sh_segmenter *segmenter)
{
    for (size_t s = 0; s < SH_STREAMS_MAX; s++) {
        segmenter->has_begun[s] = false;
        segmenter->spike[s].n_frames = 0;
    }
    start_watch(segmenter, 0);
    segmenter->n_pending = 0;
    segmenter->n_shots = 0;
    segmenter->is_flushed = false;
}

static enum sh_status open_parts(struct sh_segmenter *segmenter, struct sh_error *err)
{
    struct sh_lanes *lanes = &segmenter->lanes;
    const enum sh_status status =
        sh_lanes_open(lanes, segmenter->config.stream, segmenter->config.n_streams,
                      segmenter->config.reading, err);
    if (status != SH_OK) {
        return status;
    }
    for (size_t s = 0; s < lanes->n; s++) {
        sh_spike_init(&segmenter->spike[s], &lanes->window[s].stream);
    }
    segmenter->threshold_n = get_threshold_n(&segmenter->config);

    if (!lanes->force.is_present && !lanes->has_bow) {
        return sh_error_set(err, SH_ERR_ARGUMENT, "segmenter",
                            "record a string force, finger forces or the bow's acceleration",
                            "no channel shows when an arrow is shot");
    }
    if (lanes->force.is_present) {
        const struct sh_shot_force *force = &lanes->force;
        segmenter->resolution_n = sh_force_scale_get_resolution_n(
            &sh_lanes_get_leader(lanes)->stream.channel[force->channel[0]]);
    }
    return sh_finisher_open(&segmenter->finisher, lanes, segmenter->threshold_n,
                            get_clicker_prior(&segmenter->config.bow), err);
}

enum sh_status sh_segmenter_open(const struct sh_segmenter_config *config,
                                 const struct sh_shot_sink *sink,
                                 struct sh_segmenter **out,
                                 struct sh_error *err)
{
    enum sh_status status = check_config(config, err);
    if (status != SH_OK) {
        return status;
    }
    struct sh_segmenter *segmenter = calloc(1, sizeof *segmenter);
    if (segmenter == NULL) {
        return sh_error_set(err, SH_ERR_MEMORY, "segmenter", NULL, "no memory for it");
    }
    segmenter->config = *config;
    segmenter->sink = *sink;
    status = open_parts(segmenter, err);
    if (status != SH_OK) {
        sh_segmenter_close(&segmenter);
        return status;
    }
    segmenter->finisher.click = config->click;
    start_run(segmenter);
    *out = segmenter;
    return SH_OK;
}

void sh_segmenter_close(struct sh_segmenter **segmenter)
{
    if (segmenter == NULL || *segmenter == NULL) {
        return;
    }
    sh_finisher_close(&(*segmenter)->finisher);
    sh_lanes_close(&(*segmenter)->lanes);
    free(*segmenter);
    *segmenter = NULL;
}

void sh_segmenter_reset(struct sh_segmenter *segmenter)
{
    sh_lanes_reset(&segmenter->lanes);
    sh_finisher_reset(&segmenter->finisher);
    start_run(segmenter);
}

static enum sh_status finish_first(struct sh_segmenter *segmenter, struct sh_error *err)
{
    const struct sh_finisher_draw draw = segmenter->pending[0];
    struct sh_shot shot;
    struct sh_shot_view view;
    bool is_draw = false;
    segmenter->n_pending--;
    for (size_t k = 0; k < segmenter->n_pending; k++) {
        segmenter->pending[k] = segmenter->pending[k + 1];
    }
    const enum sh_status status =
        sh_finisher_run(&segmenter->finisher, &draw, &shot, &view, &is_draw);
    if (status != SH_OK) {
        return sh_error_set(err, status, "segmenter", NULL, "a draw cannot be worked out");
    }
    if (!is_draw) {
        return SH_OK;
    }
    shot.n = ++segmenter->n_shots;
    return segmenter->sink.shot(segmenter->sink.context, &shot, &view, err);
}

/* All streams have come far enough for a draw, or one will not while the history lasts. */
static bool is_ready(const struct sh_segmenter *segmenter, const struct sh_finisher_draw *draw)
{
    const struct sh_window *force = sh_lanes_get_leader(&segmenter->lanes);
    const double rate_hz = force->stream.rate_hz;
    const double held = (double)sh_history_get_capacity(force->history);
    const double age = (double)(sh_history_get_next(force->history) - draw->first_frame);
    if (age + SH_FINISHER_LEAD_S * rate_hz > held - SPARE_S * rate_hz) {
        return true;
    }
    return sh_lanes_have_reached(&segmenter->lanes, draw->wait_s);
}

static enum sh_status finish_ready(struct sh_segmenter *segmenter, struct sh_error *err)
{
    while (segmenter->n_pending > 0 && is_ready(segmenter, &segmenter->pending[0])) {
        const enum sh_status status = finish_first(segmenter, err);
        if (status != SH_OK) {
            return status;
        }
    }
    return SH_OK;
}

static enum sh_status keep_draw(struct sh_segmenter *segmenter,
                                const struct sh_finisher_draw *draw,
                                struct sh_error *err)
{
    const struct sh_window *window = sh_lanes_get_leader(&segmenter->lanes);
    enum sh_status status = SH_OK;
    if (segmenter->n_pending == SH_SEGMENTER_PENDING_MAX) {
        status = finish_first(segmenter, err);
    }
    struct sh_finisher_draw *kept = &segmenter->pending[segmenter->n_pending++];
    *kept = *draw;
    kept->wait_s = sh_window_get_time_s(window, draw->end_frame, NULL) + SH_SHOT_TAIL_S;
    return status;
}

/* One frame of the force: what the detector makes of it. */
static enum sh_status watch_force(struct sh_segmenter *segmenter,
                                  const struct sh_spike_frame *frame,
                                  struct sh_error *err)
{
    double force_n = 0.0;
    if (!frame->is_present) {
        return SH_OK;
    }
    for (size_t k = 0; k < segmenter->lanes.force.n_channels; k++) {
        force_n += frame->value[segmenter->lanes.force.channel[k]];
    }
    const struct sh_detector *detector = &segmenter->detector;
    if (sh_detector_push(&segmenter->detector, force_n, frame->is_filled) !=
        SH_DETECTOR_ENDED) {
        return SH_OK;
    }
    const struct sh_finisher_draw draw = {.first_frame = detector->first_frame,
                                          .end_frame = detector->end_frame,
                                          .base_n = detector->base_n};
    return keep_draw(segmenter, &draw, err);
}

/* One frame of the acceleration, where there is no force. */
static enum sh_status
watch_bow(struct sh_segmenter *segmenter, const double *value, struct sh_error *err)
{
    const struct sh_shock *shock = &segmenter->shock;
    if (!sh_shock_push(&segmenter->shock, value)) {
        return SH_OK;
    }
    const struct sh_finisher_draw draw = {.first_frame = shock->trigger_frame,
                                          .end_frame = shock->trigger_frame,
                                          .is_shock = true};
    return keep_draw(segmenter, &draw, err);
}

/* The streams end in a draw, or in a trigger's second. */
static enum sh_status keep_open(struct sh_segmenter *segmenter, struct sh_error *err)
{
    const struct sh_detector *detector = &segmenter->detector;
    const struct sh_shock *shock = &segmenter->shock;
    struct sh_finisher_draw draw = {.first_frame = detector->first_frame,
                                    .end_frame = detector->next_frame,
                                    .base_n = detector->base_n,
                                    .is_open = true};
    if (!segmenter->lanes.force.is_present) {
        draw = (struct sh_finisher_draw){.first_frame = shock->trigger_frame,
                                         .end_frame = shock->trigger_frame,
                                         .is_shock = true};
    }
    return keep_draw(segmenter, &draw, err);
}

static bool is_finite(const double *raw, size_t n)
{
    for (size_t c = 0; c < n; c++) {
        if (!isfinite(raw[c])) {
            return false;
        }
    }
    return true;
}

static enum sh_status push_frame(struct sh_segmenter *segmenter,
                                 const struct sh_block *block,
                                 size_t i,
                                 struct sh_error *err)
{
    struct sh_window *window = &segmenter->lanes.window[block->stream];
    const double *raw = block->raw + i * block->n_channels;
    const uint64_t frame = block->first_frame + i;
    double value[SH_STREAM_CHANNELS_MAX];
    if (!is_finite(raw, block->n_channels)) {
        return sh_error_set(err, SH_ERR_NOT_FINITE, window->stream.name, "repair the recording",
                            "frame %llu is not a number", (unsigned long long)frame);
    }
    sh_scale_frame_steadily(&window->stream, raw, 1.0 / window->stream.rate_hz, window->drift,
                            value);
    sh_history_push(window->history, value,
                    sh_frame_flags_get(&window->stream, raw, block->is_filled));
    const bool is_leader = block->stream == segmenter->lanes.leader;
    if (is_leader && !segmenter->lanes.force.is_present) {
        return watch_bow(segmenter, value, err);
    }
    const struct sh_spike_frame before =
        sh_spike_push(&segmenter->spike[block->stream], value, block->is_filled);
    if (before.is_mended) {
        sh_history_mend(window->history, frame - 1, before.value);
    }
    return is_leader ? watch_force(segmenter, &before, err) : SH_OK;
}

static enum sh_status
check_block(struct sh_segmenter *segmenter, const struct sh_block *block, struct sh_error *err)
{
    if (segmenter->is_flushed) {
        return sh_error_set(err, SH_ERR_ARGUMENT, "segmenter", "reset it first",
                            "samples came after the end");
    }
    if (block->stream >= segmenter->config.n_streams) {
        return sh_error_set(err, SH_ERR_ARGUMENT, "segmenter", NULL, "there is no stream %zu",
                            block->stream);
    }
    struct sh_window *window = &segmenter->lanes.window[block->stream];
    if (block->n_channels != window->stream.n_channels) {
        return sh_error_set(err, SH_ERR_ARGUMENT, window->stream.name, NULL,
                            "%zu channels came instead of %zu", block->n_channels,
                            window->stream.n_channels);
    }
    if (!segmenter->has_begun[block->stream]) {
        segmenter->has_begun[block->stream] = true;
        sh_history_reset(window->history, block->first_frame);
        if (block->stream == segmenter->lanes.leader) {
            start_watch(segmenter, block->first_frame);
        }
    }
    if (block->first_frame != sh_history_get_next(window->history)) {
        return sh_error_set(err, SH_ERR_ARGUMENT, window->stream.name, NULL,
                            "frame %llu came instead of %llu",
                            (unsigned long long)block->first_frame,
                            (unsigned long long)sh_history_get_next(window->history));
    }
    return SH_OK;
}

enum sh_status sh_segmenter_push_block(struct sh_segmenter *segmenter,
                                       const struct sh_block *block,
                                       struct sh_error *err)
{
    enum sh_status status = check_block(segmenter, block, err);
    for (size_t i = 0; status == SH_OK && i < block->n_frames; i++) {
        status = push_frame(segmenter, block, i, err);
        const bool is_last = i + 1 == block->n_frames;
        if (status == SH_OK && segmenter->n_pending > 0 &&
            (is_last || (i + 1) % CHUNK_FRAMES == 0)) {
            status = finish_ready(segmenter, err);
        }
    }
    return status;
}

enum sh_status sh_segmenter_push_anchor(struct sh_segmenter *segmenter,
                                        size_t stream,
                                        const struct sh_anchor *anchor,
                                        struct sh_error *err)
{
    if (segmenter->is_flushed || stream >= segmenter->config.n_streams) {
        return sh_error_set(err, SH_ERR_ARGUMENT, "segmenter", NULL,
                            "an anchor came for stream %zu", stream);
    }
    struct sh_window *window = &segmenter->lanes.window[stream];
    const bool is_between = segmenter->config.reading == SH_TIMEBASE_BETWEEN;
    const bool is_late = segmenter->has_begun[stream] &&
                         (is_between || anchor->frame < sh_history_get_next(window->history));
    if (is_late) {
        return sh_error_set(err, SH_ERR_ARGUMENT, window->stream.name, NULL,
                            "the anchor of frame %llu came too late",
                            (unsigned long long)anchor->frame);
    }
    const enum sh_status status = sh_timebase_append(&window->timebase, anchor);
    if (status != SH_OK) {
        return sh_error_set(err, status, window->stream.name, NULL,
                            "the anchor of frame %llu cannot be taken",
                            (unsigned long long)anchor->frame);
    }
    return SH_OK;
}

enum sh_status sh_segmenter_flush(struct sh_segmenter *segmenter, struct sh_error *err)
{
    if (segmenter->is_flushed) {
        return SH_OK;
    }
    segmenter->is_flushed = true;
    enum sh_status status = SH_OK;
    if (segmenter->lanes.force.is_present) {
        const struct sh_spike_frame last =
            sh_spike_flush(&segmenter->spike[segmenter->lanes.leader]);
        status = watch_force(segmenter, &last, err);
    }
    const bool is_open = segmenter->lanes.force.is_present ? segmenter->detector.is_drawn
                                                           : segmenter->shock.is_triggered;
    if (status == SH_OK && is_open) {
        status = keep_open(segmenter, err);
    }
    while (status == SH_OK && segmenter->n_pending > 0) {
        status = finish_first(segmenter, err);
    }
    return status;
}

void sh_segmenter_get_state(const struct sh_segmenter *segmenter,
                            struct sh_segmenter_state *out)
{
    static const enum sh_segmenter_phase phases[] = {[SH_DETECTOR_REST] = SH_SEGMENTER_REST,
                                                     [SH_DETECTOR_DRAWING] =
                                                         SH_SEGMENTER_DRAWING,
                                                     [SH_DETECTOR_HOLD] = SH_SEGMENTER_HOLD};
    const struct sh_detector *detector = &segmenter->detector;
    const struct sh_window *window = sh_lanes_get_leader(&segmenter->lanes);
    const uint64_t next = sh_history_get_next(window->history);
    *out = (struct sh_segmenter_state){
        .phase = SH_SEGMENTER_UNKNOWN,
        .now_s = sh_window_get_time_s(window, next > 0 ? next - 1 : 0, NULL),
        .n_shots = segmenter->n_shots,
        .n_pending = segmenter->n_pending};
    if (segmenter->lanes.force.is_present) {
        out->phase = phases[detector->phase];
        out->since_s = sh_window_get_time_s(window, detector->phase_frame, NULL);
        out->force_n = sh_detector_get_net_n(detector);
        out->n_given_up = detector->n_given_up;
    }
}
