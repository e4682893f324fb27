/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sim/sampler.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "sim/chance.h"
#include "sim/range.h"
#include "sim/sensor_error.h"

#define BLOCK_FRAMES_MAX 65536u
#define NEVER            UINT64_MAX
#define FAR_FRAMES       1e15  /* farther than any session: no loss comes any more */
#define PARTS_A_STREAM   3u    /* of the seed: noise, losses, anchors */
#define PART_ERRORS      1000u /* and behind all those the errors of each stream */

/* One stream on its way. */
struct lane {
    const struct sh_stream_source_config *config;
    struct sh_stream_source source;
    struct sh_random loss_random;
    struct sh_random anchor_random;
    uint64_t next_frame;
    uint64_t next_anchor;
    uint64_t loss_begin; /* the next loss, or that which goes on */
    uint64_t loss_end;
    double last[SH_STREAM_CHANNELS_MAX]; /* counts of the frame before */
};

struct sh_sampler {
    const struct sh_session_plan *plan;
    struct sh_block_sink sink;
    uint64_t seed;
    size_t block_frames;
    uint64_t next_slice;
    double done_s; /* every frame before this has been passed on */
    size_t n_streams;
    struct sh_stream_source_config *stream; /* [n_streams] */
    struct lane *lane;                      /* [n_streams] */
    double *raw;                            /* [block_frames][largest n_channels] */
};

/* The next loss begins a geometric number of frames behind frame after, so that losses are
 * independent of each other. */
static void draw_loss(struct lane *lane, uint64_t after)
{
    const struct sh_stream_source_config *config = lane->config;
    lane->loss_begin = lane->loss_end = NEVER;
    if (!(config->lost_per_h > 0.0)) {
        return;
    }
    const double ratio = fmin(0.5, config->lost_per_h / 3600.0 / config->stream.rate_hz);
    const double u = 1.0 - sh_random_get_uniform(&lane->loss_random);
    const double distance = 1.0 + floor(log(u) / log1p(-ratio));
    const uint64_t n_frames =
        1 + sh_random_get_below(&lane->loss_random, config->lost_frames_max);
    if (distance < FAR_FRAMES) {
        lane->loss_begin = after + (uint64_t)distance;
        lane->loss_end = lane->loss_begin + n_frames;
    }
}

static enum sh_status init_lane(struct sh_sampler *sampler, size_t index, struct sh_error *err)
{
    struct lane *lane = &sampler->lane[index];
    const uint64_t part = PARTS_A_STREAM * index;
    const struct sh_stream_source_config *config = &sampler->stream[index];
    const enum sh_status status = sh_stream_source_init(
        &lane->source, sampler->plan, config, sh_chance_seed(sampler->seed, part), err);
    if (status != SH_OK) {
        return status;
    }
    lane->config = config;
    sh_random_init(&lane->loss_random, sh_chance_seed(sampler->seed, part + 1));
    sh_random_init(&lane->anchor_random, sh_chance_seed(sampler->seed, part + 2));
    lane->next_frame = 0;
    lane->next_anchor = config->anchor_period_s > 0.0 ? 0 : NEVER;
    draw_loss(lane, 0);
    return SH_OK;
}

static enum sh_status check_config(const struct sh_sampler_config *config,
                                   const struct sh_block_sink *sink,
                                   struct sh_error *err)
{
    const struct sh_range range[] = {
        {"n_streams", (double)config->n_streams, 1.0, SH_STREAMS_MAX},
        {"block_frames", (double)config->block_frames, 1.0, BLOCK_FRAMES_MAX},
    };
    const enum sh_status status = sh_range_check(range, sizeof range / sizeof range[0], err);
    if (status != SH_OK) {
        return status;
    }
    for (size_t i = 0; i < config->n_streams; i++) {
        if (sink->anchor == NULL && config->stream[i].anchor_period_s > 0.0) {
            return sh_error_set(err, SH_ERR_ARGUMENT, "sink", "take anchors or ask for none",
                                "there is no place for clock anchors");
        }
    }
    return SH_OK;
}

/* The arrays of a sampler; the caller closes it where this fails. */
static enum sh_status fill_sampler(struct sh_sampler *sampler,
                                   const struct sh_sampler_config *config,
                                   struct sh_error *err)
{
    size_t n_channels = 0;
    assert(config->n_streams > 0);
    for (size_t i = 0; i < config->n_streams; i++) {
        const size_t n = config->stream[i].stream.n_channels;
        n_channels = n > n_channels ? n : n_channels;
    }
    /* not checked yet: init_lane does that */
    n_channels = n_channels < SH_STREAM_CHANNELS_MAX ? n_channels : SH_STREAM_CHANNELS_MAX;
    sampler->stream = calloc(config->n_streams, sizeof *sampler->stream);
    sampler->lane = calloc(config->n_streams, sizeof *sampler->lane);
    sampler->raw = calloc(config->block_frames * (n_channels + 1), sizeof *sampler->raw);
    if (sampler->stream == NULL || sampler->lane == NULL || sampler->raw == NULL) {
        return sh_error_set(err, SH_ERR_MEMORY, NULL, NULL, "no memory for the sampler");
    }
    memcpy(sampler->stream, config->stream, config->n_streams * sizeof *sampler->stream);
    for (size_t i = 0; i < config->n_streams; i++) {
        struct sh_random random;
        sh_random_init(&random, sh_chance_seed(sampler->seed, PART_ERRORS + i));
        if (config->has_errors) {
            sh_sensor_error_draw(&sampler->stream[i], &random);
        }
        const enum sh_status status = init_lane(sampler, i, err);
        if (status != SH_OK) {
            return status;
        }
    }
    return SH_OK;
}

enum sh_status sh_sampler_open(const struct sh_sampler_config *config,
                               const struct sh_block_sink *sink,
                               struct sh_sampler **out,
                               struct sh_error *err)
{
    enum sh_status status = check_config(config, sink, err);
    if (status != SH_OK) {
        return status;
    }
    struct sh_sampler *sampler = calloc(1, sizeof *sampler);
    if (sampler == NULL) {
        return sh_error_set(err, SH_ERR_MEMORY, NULL, NULL, "no memory for the sampler");
    }
    sampler->plan = config->plan;
    sampler->sink = *sink;
    sampler->seed = config->seed;
    sampler->block_frames = config->block_frames;
    sampler->n_streams = config->n_streams;
    sampler->done_s = -(double)INFINITY;
    status = fill_sampler(sampler, config, err);
    if (status != SH_OK) {
        goto out;
    }
    *out = sampler;
    sampler = NULL;
out:
    sh_sampler_close(&sampler);
    return status;
}

void sh_sampler_close(struct sh_sampler **sampler)
{
    if (*sampler == NULL) {
        return;
    }
    free((*sampler)->raw);
    free((*sampler)->lane);
    free((*sampler)->stream);
    free(*sampler);
    *sampler = NULL;
}

void sh_sampler_reset(struct sh_sampler *sampler)
{
    for (size_t i = 0; i < sampler->n_streams; i++) {
        /* the same settings were taken once */
        (void)init_lane(sampler, i, NULL);
    }
    sampler->next_slice = 0;
    sampler->done_s = -(double)INFINITY;
}

static enum sh_status
pass_anchor(struct sh_sampler *sampler, size_t index, struct sh_error *err)
{
    struct lane *lane = &sampler->lane[index];
    const struct sh_stream_source_config *config = lane->config;
    const double period = nearbyint(config->anchor_period_s * config->stream.rate_hz);
    const struct sh_anchor anchor = {
        .frame = lane->next_frame,
        .time_s = sh_stream_source_get_time_s(&lane->source, lane->next_frame) +
                  config->anchor_u_s * sh_random_get_normal(&lane->anchor_random),
        .u_s = config->anchor_u_s,
    };
    lane->next_anchor += (uint64_t)fmax(1.0, period);
    return sampler->sink.anchor(sampler->sink.context, index, &anchor, err);
}

/* Makes frames up to (not with) frame limit or time end_s into raw; returns how many. */
static size_t
make_frames(struct lane *lane, uint64_t limit, double end_s, bool is_lost, double *raw)
{
    const size_t n_channels = lane->config->stream.n_channels;
    size_t n = 0;
    while (lane->next_frame < limit &&
           sh_stream_source_get_time_s(&lane->source, lane->next_frame) < end_s) {
        double *frame = &raw[n * n_channels];
        if (!is_lost) {
            sh_stream_source_make(&lane->source, lane->next_frame, lane->last);
        }
        memcpy(frame, lane->last, n_channels * sizeof *frame);
        lane->next_frame++;
        n++;
    }
    return n;
}

static uint64_t get_least(uint64_t a, uint64_t b)
{
    return a < b ? a : b;
}

/* Passes on one block: up to the next anchor, the edge of a loss, end_s or a full buffer. */
static enum sh_status
pass_block(struct sh_sampler *sampler, size_t index, double end_s, struct sh_error *err)
{
    struct lane *lane = &sampler->lane[index];
    const bool is_lost = lane->next_frame >= lane->loss_begin;
    const uint64_t edge = is_lost ? lane->loss_end : lane->loss_begin;
    const uint64_t limit =
        get_least(get_least(edge, lane->next_anchor), lane->next_frame + sampler->block_frames);
    struct sh_block block = {
        .stream = index,
        .first_frame = lane->next_frame,
        .n_channels = lane->config->stream.n_channels,
        .raw = sampler->raw,
        .is_filled = is_lost,
    };
    block.n_frames = make_frames(lane, limit, end_s, is_lost, sampler->raw);
    if (is_lost && lane->next_frame == lane->loss_end) {
        draw_loss(lane, lane->next_frame);
    }
    return sampler->sink.block(sampler->sink.context, &block, err);
}

static enum sh_status
pass_lane(struct sh_sampler *sampler, size_t index, double end_s, struct sh_error *err)
{
    struct lane *lane = &sampler->lane[index];
    enum sh_status status = SH_OK;
    while (status == SH_OK &&
           sh_stream_source_get_time_s(&lane->source, lane->next_frame) < end_s) {
        if (lane->next_frame == lane->next_anchor) {
            status = pass_anchor(sampler, index, err);
        }
        if (status == SH_OK) {
            status = pass_block(sampler, index, end_s, err);
        }
    }
    return status;
}

/* Passes on all streams up to end_s, one after the other. */
static enum sh_status pass_slice(struct sh_sampler *sampler, double end_s, struct sh_error *err)
{
    enum sh_status status = SH_OK;
    for (size_t i = 0; i < sampler->n_streams && status == SH_OK; i++) {
        status = pass_lane(sampler, i, end_s, err);
    }
    return status;
}

enum sh_status
sh_sampler_advance(struct sh_sampler *sampler, double until_s, struct sh_error *err)
{
    const double stop_s = fmin(until_s, sampler->plan->duration_s);
    while (sampler->done_s < stop_s) {
        const double grid_s = SH_SAMPLER_SLICE_S * (double)(sampler->next_slice + 1);
        const double end_s = fmin(grid_s, stop_s);
        const enum sh_status status = pass_slice(sampler, end_s, err);
        if (status != SH_OK) {
            return status;
        }
        sampler->done_s = end_s;
        sampler->next_slice += end_s < grid_s ? 0 : 1;
    }
    return SH_OK;
}

bool sh_sampler_is_done(const struct sh_sampler *sampler)
{
    return sampler->done_s >= sampler->plan->duration_s;
}
