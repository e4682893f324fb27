/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sim/disturbance.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/units.h"
#include "sim/chance.h"
#include "sim/move.h"
#include "sim/range.h"

#define BUMP_EARLY_S 2.5 /* before the hand takes up the string, at the earliest */
#define BUMP_LATE_S  1.0
#define STEP_EARLY_S 4.0
#define STEP_LATE_S  3.0
#define FINGER_SHARE (1.0 / 3.0)
#define SPIKES_MAX   1000u
#define S_PER_H      3600.0

/* Something that happens once: a bump from begin_s to end_s, a step from begin_s on. */
struct happening {
    double begin_s;
    double end_s;
    double size_n;
    bool is_step;
};

struct sh_disturbance {
    struct sh_disturbance_config config;
    struct sh_block_sink sink;
    struct sh_stream stream[SH_STREAMS_MAX];
    struct happening *happening; /* owned, [n_happenings] */
    size_t n_happenings;
    struct happening spike[SPIKES_MAX]; /* of the frame that begin_s falls in */
    size_t n_spikes;
    double *raw; /* owned, [n_raw_max] */
    size_t n_raw_max;
};

static enum sh_status check_config(const struct sh_disturbance_config *config,
                                   struct sh_error *err)
{
    const struct sh_range range[] = {
        {"n_streams", (double)config->n_streams, 1.0, SH_STREAMS_MAX},
        {"hum_n", config->hum_n, 0.0, 10.0},
        {"hum_hz", config->hum_hz, 0.0, 1000.0},
        {"bump_ratio", config->bump_ratio, 0.0, 1.0},
        {"bump_n", config->bump_n, 0.0, 50.0},
        {"step_ratio", config->step_ratio, 0.0, 1.0},
        {"step_n", config->step_n, 0.0, 50.0},
        {"spikes_per_h", config->spikes_per_h, 0.0, 3600.0},
        {"spike_n", config->spike_n, 0.0, 1000.0},
    };
    return sh_range_check(range, sizeof range / sizeof range[0], err);
}

static void draw_happenings(struct sh_disturbance *disturbance)
{
    const struct sh_disturbance_config *config = &disturbance->config;
    struct sh_random random;
    sh_random_init(&random, config->seed);
    for (size_t i = 0; i < config->plan->n_draws; i++) {
        const double hand_s = config->plan->draw[i].hand_s;
        if (sh_chance_is(&random, config->bump_ratio)) {
            const double begin_s =
                hand_s - sh_chance_between(&random, BUMP_LATE_S, BUMP_EARLY_S);
            const double length_s = sh_chance_between(&random, 0.05, 0.2);
            const double size_n = sh_chance_between(&random, 0.0, config->bump_n);
            disturbance->happening[disturbance->n_happenings++] =
                (struct happening){begin_s, begin_s + length_s, size_n, false};
        }
        if (sh_chance_is(&random, config->step_ratio)) {
            const double begin_s =
                hand_s - sh_chance_between(&random, STEP_LATE_S, STEP_EARLY_S);
            const double size_n = sh_chance_between(&random, -config->step_n, config->step_n);
            disturbance->happening[disturbance->n_happenings++] =
                (struct happening){begin_s, (double)INFINITY, size_n, true};
        }
    }
    const double n_spikes = config->spikes_per_h * config->plan->duration_s / S_PER_H;
    const double n = floor(n_spikes + sh_random_get_uniform(&random));
    for (size_t i = 0; (double)i < n && i < SPIKES_MAX; i++) {
        const double begin_s = sh_chance_between(&random, 0.0, config->plan->duration_s);
        const double size_n = sh_chance_between(&random, 0.5, 1.0) * config->spike_n;
        const double sign = sh_chance_is(&random, 0.5) ? 1.0 : -1.0;
        disturbance->spike[disturbance->n_spikes++] =
            (struct happening){begin_s, begin_s, sign * size_n, false};
    }
}

/* What is added to the force at a frame; period_s: of the frames. */
static double get_added_n(const struct sh_disturbance *disturbance, double t_s, double period_s)
{
    const struct sh_disturbance_config *config = &disturbance->config;
    double added_n = 0.0;
    if (config->hum_n > 0.0) {
        added_n += config->hum_n * sin(2.0 * SH_PI * config->hum_hz * t_s);
    }
    for (size_t i = 0; i < disturbance->n_happenings; i++) {
        const struct happening *happening = &disturbance->happening[i];
        if (t_s >= happening->begin_s && t_s < happening->end_s) {
            const double share = happening->is_step
                                     ? 1.0
                                     : sh_move_dip(t_s, happening->begin_s, happening->end_s);
            added_n += happening->size_n * share;
        }
    }
    for (size_t i = 0; i < disturbance->n_spikes; i++) {
        const struct happening *spike = &disturbance->spike[i];
        added_n += spike->begin_s >= t_s && spike->begin_s < t_s + period_s ? spike->size_n : 0;
    }
    return added_n;
}

static double get_share(const struct sh_channel *channel)
{
    if (channel->role == SH_ROLE_STRING_FORCE) {
        return 1.0;
    }
    return channel->role == SH_ROLE_FINGER_FORCE ? FINGER_SHARE : 0.0;
}

/* A count as the sensor would have sent it. */
static double add_to(const struct sh_channel *channel, double raw, double added_n)
{
    double disturbed =
        channel->is_physical ? raw + added_n : round(raw + added_n / channel->scale);
    if (channel->has_range) {
        disturbed = fmin(fmax(disturbed, channel->range_low), channel->range_high);
    }
    return disturbed;
}

static void disturb(const struct sh_disturbance *disturbance, const struct sh_block *block)
{
    const struct sh_stream *stream = &disturbance->stream[block->stream];
    bool has_force = false;
    for (size_t c = 0; c < stream->n_channels; c++) {
        has_force = has_force || get_share(&stream->channel[c]) > 0.0;
    }
    for (size_t i = 0; i < block->n_frames && has_force; i++) {
        const double frame = (double)(block->first_frame + i);
        const double added_n = get_added_n(
            disturbance, stream->offset_s + frame / stream->rate_hz, 1.0 / stream->rate_hz);
        double *raw = disturbance->raw + i * block->n_channels;
        for (size_t c = 0; c < stream->n_channels; c++) {
            const double share = get_share(&stream->channel[c]);
            raw[c] =
                share > 0.0 ? add_to(&stream->channel[c], raw[c], share * added_n) : raw[c];
        }
    }
}

static enum sh_status
take_block(void *context, const struct sh_block *block, struct sh_error *err)
{
    struct sh_disturbance *disturbance = context;
    const size_t n_raw = block->n_frames * block->n_channels;
    if (block->stream >= disturbance->config.n_streams ||
        block->n_channels != disturbance->stream[block->stream].n_channels) {
        return sh_error_set(err, SH_ERR_ARGUMENT, "disturbance", NULL, "a block of no stream");
    }
    if (block->is_filled || block->n_frames == 0) {
        return disturbance->sink.block(disturbance->sink.context, block, err);
    }
    if (n_raw > disturbance->n_raw_max) {
        double *raw = realloc(disturbance->raw, n_raw * sizeof *raw);
        if (raw == NULL) {
            return sh_error_set(err, SH_ERR_MEMORY, "disturbance", NULL,
                                "no memory for a block");
        }
        disturbance->raw = raw;
        disturbance->n_raw_max = n_raw;
    }
    memcpy(disturbance->raw, block->raw, n_raw * sizeof *block->raw);
    disturb(disturbance, block);
    struct sh_block disturbed = *block;
    disturbed.raw = disturbance->raw;
    return disturbance->sink.block(disturbance->sink.context, &disturbed, err);
}

static enum sh_status
take_anchor(void *context, size_t stream, const struct sh_anchor *anchor, struct sh_error *err)
{
    const struct sh_disturbance *disturbance = context;
    return disturbance->sink.anchor(disturbance->sink.context, stream, anchor, err);
}

enum sh_status sh_disturbance_open(const struct sh_disturbance_config *config,
                                   const struct sh_block_sink *sink,
                                   struct sh_disturbance **out,
                                   struct sh_error *err)
{
    const enum sh_status status = check_config(config, err);
    if (status != SH_OK) {
        return status;
    }
    struct sh_disturbance *disturbance = calloc(1, sizeof *disturbance);
    if (disturbance != NULL) {
        disturbance->happening =
            calloc(2 * config->plan->n_draws, sizeof *disturbance->happening);
    }
    if (disturbance == NULL || disturbance->happening == NULL) {
        sh_disturbance_close(&disturbance);
        return sh_error_set(err, SH_ERR_MEMORY, "disturbance", NULL, "out of memory");
    }
    disturbance->config = *config;
    disturbance->sink = *sink;
    for (size_t i = 0; i < config->n_streams; i++) {
        disturbance->stream[i] = *config->stream[i];
    }
    draw_happenings(disturbance);
    *out = disturbance;
    return SH_OK;
}

void sh_disturbance_close(struct sh_disturbance **disturbance)
{
    if (disturbance != NULL && *disturbance != NULL) {
        free((*disturbance)->happening);
        free((*disturbance)->raw);
        free(*disturbance);
        *disturbance = NULL;
    }
}

struct sh_block_sink sh_disturbance_get_sink(struct sh_disturbance *disturbance)
{
    return (struct sh_block_sink){
        .block = take_block, .anchor = take_anchor, .context = disturbance};
}
