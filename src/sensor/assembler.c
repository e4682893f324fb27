/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sensor/assembler.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "sensor/frame_number.h"

#define HOLD_US         1000000
#define STALL_US        1000000
#define PATIENCE_US     5000000 /* with a device that is silent as a whole */
#define ANCHOR_EVERY_S  9.0     /* 10 s at most, said in docs/recording-format.md */
#define ANCHOR_SECOND_S 1.0

/* One stream on its way. */
struct lane {
    size_t n_channels;
    double rate_hz;
    struct sh_frame_number number;
    uint64_t next_frame;   /* the first that was not handed to the block yet */
    uint64_t anchor_frame; /* of the last anchor on a fresh line */
    bool has_anchor;
    bool wants_second;                /* the anchor on the same line is to come */
    double anchor_s;                  /* time of the last anchor of either kind */
    struct sh_device_clock_line line; /* of the last fresh one */
    double last[SH_STREAM_CHANNELS_MAX];
    double block[SH_ASSEMBLER_BLOCK_FRAMES * SH_STREAM_CHANNELS_MAX];
    size_t n_block;
    bool is_block_filled;
    int64_t heard_us; /* when it last spoke, on the clock of listening */
    struct sh_frame_counts counts;
};

struct held {
    int64_t device_us;
    struct sh_frame frame;
};

struct sh_assembler {
    struct sh_block_sink sink;
    int64_t start_host_us;
    bool is_replay;
    bool has_arrival;
    int64_t host_us;
    int64_t listened_us;
    int64_t heard_us; /* listened_us when any stream last spoke */
    bool has_hung_up;
    uint32_t counter; /* last device counter of a replay */
    struct sh_device_clock clock;
    bool has_settled;
    int64_t first_host_us;
    int64_t first_device_us;
    struct held *held; /* owned; freed once settled */
    size_t n_held;
    uint64_t n_strange;
    size_t n_lanes;
    struct lane lanes[SH_STREAMS_MAX];
};

static enum sh_status
open_lane(struct lane *lane, const struct sh_stream *stream, struct sh_error *err)
{
    if (stream->n_channels < 1 || stream->n_channels > SH_STREAM_CHANNELS_MAX) {
        return sh_error_set(err, SH_ERR_ARGUMENT, stream->name,
                            "give the stream 1 to 16 channels", "%zu channels",
                            stream->n_channels);
    }
    if (sh_frame_number_init(&lane->number, stream->rate_hz) != SH_OK) {
        return sh_error_set(err, SH_ERR_ARGUMENT, stream->name, "give 1 to 100000 Hz",
                            "the rate is %g Hz", stream->rate_hz);
    }
    lane->n_channels = stream->n_channels;
    lane->rate_hz = stream->rate_hz;
    for (size_t i = 0; i < stream->n_channels; i++) {
        lane->last[i] = round(stream->channel[i].zero);
    }
    return SH_OK;
}

static enum sh_status open_lanes(struct sh_assembler *assembler,
                                 const struct sh_assembler_config *config,
                                 struct sh_error *err)
{
    if (config->n_streams < 1 || config->n_streams > SH_STREAMS_MAX) {
        return sh_error_set(err, SH_ERR_ARGUMENT, NULL, "give 1 to 8 streams", "%zu streams",
                            config->n_streams);
    }
    for (size_t i = 0; i < config->n_streams; i++) {
        enum sh_status status = open_lane(&assembler->lanes[i], &config->streams[i], err);
        if (status != SH_OK) {
            return status;
        }
    }
    assembler->n_lanes = config->n_streams;
    return SH_OK;
}

enum sh_status sh_assembler_open(const struct sh_assembler_config *config,
                                 struct sh_assembler **out,
                                 struct sh_error *err)
{
    struct sh_assembler *assembler = calloc(1, sizeof *assembler);
    enum sh_status status = SH_OK;
    if (assembler == NULL) {
        return sh_error_set(err, SH_ERR_MEMORY, NULL, NULL, "out of memory");
    }
    assembler->sink = config->sink;
    assembler->start_host_us = config->start_host_us;
    assembler->is_replay = config->is_replay;
    status = open_lanes(assembler, config, err);
    if (status != SH_OK) {
        goto out;
    }
    status = sh_device_clock_init(&assembler->clock, &config->clock);
    if (status != SH_OK) {
        (void)sh_error_set(err, status, NULL, NULL, "a setting of the device's clock is wrong");
        goto out;
    }
    assembler->held = malloc(SH_ASSEMBLER_HELD_MAX * sizeof *assembler->held);
    if (assembler->held == NULL) {
        status = sh_error_set(err, SH_ERR_MEMORY, NULL, NULL, "out of memory");
        goto out;
    }
    *out = assembler;
    assembler = NULL;
out:
    sh_assembler_close(&assembler);
    return status;
}

void sh_assembler_close(struct sh_assembler **assembler)
{
    if (*assembler != NULL) {
        free((*assembler)->held);
        free(*assembler);
        *assembler = NULL;
    }
}

static enum sh_status
hand_block(struct sh_assembler *assembler, struct lane *lane, struct sh_error *err)
{
    if (lane->n_block == 0) {
        return SH_OK;
    }
    const struct sh_block block = {.stream = (size_t)(lane - assembler->lanes),
                                   .first_frame = lane->next_frame - lane->n_block,
                                   .n_frames = lane->n_block,
                                   .n_channels = lane->n_channels,
                                   .raw = lane->block,
                                   .is_filled = lane->is_block_filled};
    lane->n_block = 0;
    return assembler->sink.block(assembler->sink.context, &block, err);
}

/* Whether the next frame needs an anchor; *is_fresh: on a fresh line. */
static bool is_anchor_due(const struct lane *lane, bool *is_fresh)
{
    double since_s = (double)(lane->next_frame - lane->anchor_frame) / lane->rate_hz;
    *is_fresh = !lane->has_anchor || since_s >= ANCHOR_EVERY_S;
    return *is_fresh || (lane->wants_second && since_s >= ANCHOR_SECOND_S);
}

/* Times of anchors only go up: one that would not is left to a later frame. */
static enum sh_status hand_anchor(struct sh_assembler *assembler,
                                  struct lane *lane,
                                  bool is_fresh,
                                  struct sh_error *err)
{
    struct sh_device_clock_line line = lane->line;
    if (is_fresh) {
        (void)sh_device_clock_get_line(&assembler->clock, &line); /* has arrivals */
    }
    double device_us = sh_frame_number_get_time(&lane->number, lane->next_frame);
    double u_us = 0.0;
    double host_us = sh_device_clock_line_host(&line, device_us, &u_us);
    const struct sh_anchor anchor = {.frame = lane->next_frame,
                                     .time_s =
                                         1e-6 * (host_us - (double)assembler->start_host_us),
                                     .u_s = 1e-6 * u_us};
    if (lane->has_anchor && anchor.time_s <= lane->anchor_s) {
        return SH_OK;
    }
    enum sh_status status = hand_block(assembler, lane, err);
    if (status != SH_OK) {
        return status;
    }
    lane->anchor_frame = is_fresh ? anchor.frame : lane->anchor_frame;
    lane->anchor_s = anchor.time_s;
    lane->has_anchor = true;
    lane->wants_second = is_fresh;
    lane->line = line;
    size_t stream = (size_t)(lane - assembler->lanes);
    return assembler->sink.anchor(assembler->sink.context, stream, &anchor, err);
}

/* Puts the values of lane->last into the block as the next frame. */
static enum sh_status
append(struct sh_assembler *assembler, struct lane *lane, bool is_filled, struct sh_error *err)
{
    enum sh_status status = SH_OK;
    bool is_fresh = false;
    if (is_anchor_due(lane, &is_fresh)) {
        status = hand_anchor(assembler, lane, is_fresh, err);
    }
    if (status == SH_OK &&
        (lane->n_block == SH_ASSEMBLER_BLOCK_FRAMES || lane->is_block_filled != is_filled)) {
        status = hand_block(assembler, lane, err);
    }
    if (status != SH_OK) {
        return status;
    }
    memcpy(lane->block + lane->n_block * lane->n_channels, lane->last,
           lane->n_channels * sizeof lane->last[0]);
    lane->is_block_filled = is_filled;
    lane->n_block++;
    lane->next_frame++;
    return SH_OK;
}

/* Fills up to, but without, the frame end. */
static enum sh_status
fill(struct sh_assembler *assembler, struct lane *lane, uint64_t end, struct sh_error *err)
{
    while (lane->next_frame < end) {
        enum sh_status status = append(assembler, lane, true, err);
        if (status != SH_OK) {
            return status;
        }
        lane->counts.lost++;
    }
    return SH_OK;
}

static enum sh_status place_new(struct sh_assembler *assembler,
                                struct lane *lane,
                                const struct sh_frame *frame,
                                uint64_t number,
                                struct sh_error *err)
{
    if (number < lane->next_frame) {
        lane->counts.late++;
        return SH_OK;
    }
    enum sh_status status = fill(assembler, lane, number, err);
    if (status != SH_OK) {
        return status;
    }
    for (size_t i = 0; i < lane->n_channels; i++) {
        lane->last[i] = frame->counts[i];
    }
    lane->counts.good++;
    return append(assembler, lane, false, err);
}

static enum sh_status place(struct sh_assembler *assembler,
                            const struct sh_frame *frame,
                            int64_t device_us,
                            struct sh_error *err)
{
    struct lane *lane = &assembler->lanes[frame->stream];
    uint64_t number = 0;
    switch (sh_frame_number_push(&lane->number, device_us, &number)) {
    case SH_FRAME_NUMBER_NEW:
        return place_new(assembler, lane, frame, number, err);
    case SH_FRAME_NUMBER_REPEATED:
        lane->counts.repeated++;
        break;
    case SH_FRAME_NUMBER_LATE:
        lane->counts.late++;
        break;
    }
    return SH_OK;
}

/* The end of the first second: what was held goes its way. */
static enum sh_status settle(struct sh_assembler *assembler, struct sh_error *err)
{
    enum sh_status status = SH_OK;
    assembler->has_settled = true;
    for (size_t i = 0; i < assembler->n_held && status == SH_OK; i++) {
        const struct held *held = &assembler->held[i];
        status = place(assembler, &held->frame, held->device_us, err);
    }
    free(assembler->held);
    assembler->held = NULL;
    assembler->n_held = 0;
    return status;
}

static bool is_hold_over(const struct sh_assembler *assembler)
{
    return assembler->n_held > 0 && (assembler->n_held == SH_ASSEMBLER_HELD_MAX ||
                                     assembler->host_us - assembler->first_host_us >= HOLD_US);
}

void sh_assembler_arrive(struct sh_assembler *assembler, int64_t host_us, int64_t listened_us)
{
    if (assembler->is_replay) {
        return;
    }
    bool is_first = !assembler->has_arrival;
    if (is_first || host_us > assembler->host_us) {
        assembler->host_us = host_us;
    }
    if (is_first || listened_us > assembler->listened_us) {
        assembler->listened_us = listened_us;
    }
    assembler->has_arrival = true;
}

void sh_assembler_hang_up(struct sh_assembler *assembler)
{
    assembler->has_hung_up = true;
}

/* A replay's clock goes with the device's counter, wraps included, and never back. */
static void arrive_by_counter(struct sh_assembler *assembler, uint32_t counter)
{
    int32_t step_us = 0;
    if (assembler->has_arrival) {
        uint32_t ahead_us = counter - assembler->counter;
        step_us = ahead_us <= INT32_MAX ? (int32_t)ahead_us : 0;
    } else {
        assembler->host_us = assembler->start_host_us;
    }
    if (step_us > 0 || !assembler->has_arrival ||
        assembler->counter - counter > SH_DEVICE_CLOCK_BACK_MAX_US) {
        assembler->counter = counter;
    }
    assembler->host_us += step_us;
    assembler->listened_us = assembler->host_us;
    assembler->has_arrival = true;
}

/*
 * A stream speaks. While the whole device was silent none of its streams was: what it held back
 * is only now on its way.
 */
static void hear(struct sh_assembler *assembler, struct lane *lane)
{
    int64_t silent_us = assembler->listened_us - assembler->heard_us;
    for (size_t i = 0; i < assembler->n_lanes && silent_us >= STALL_US; i++) {
        assembler->lanes[i].heard_us += silent_us;
    }
    assembler->has_hung_up = false;
    assembler->heard_us = assembler->listened_us;
    lane->heard_us = assembler->listened_us;
}

static void hear_first(struct sh_assembler *assembler)
{
    assembler->heard_us = assembler->listened_us;
    for (size_t i = 0; i < assembler->n_lanes; i++) {
        assembler->lanes[i].heard_us = assembler->listened_us;
    }
}

enum sh_status sh_assembler_push(struct sh_assembler *assembler,
                                 const struct sh_frame *frame,
                                 struct sh_error *err)
{
    if (frame->stream >= assembler->n_lanes ||
        frame->n_channels != assembler->lanes[frame->stream].n_channels) {
        assembler->n_strange++;
        return SH_OK;
    }
    if (assembler->is_replay) {
        arrive_by_counter(assembler, frame->device_time_us);
    }
    int64_t device_us =
        sh_device_clock_push(&assembler->clock, assembler->host_us, frame->device_time_us);
    if (assembler->has_settled) {
        hear(assembler, &assembler->lanes[frame->stream]);
        return place(assembler, frame, device_us, err);
    }
    if (assembler->n_held == 0) {
        assembler->first_host_us = assembler->host_us;
        assembler->first_device_us = device_us;
        hear_first(assembler);
    }
    hear(assembler, &assembler->lanes[frame->stream]);
    assembler->held[assembler->n_held++] = (struct held){device_us, *frame};
    return is_hold_over(assembler) ? settle(assembler, err) : SH_OK;
}

static bool is_stalled(const struct sh_assembler *assembler, const struct lane *lane)
{
    int64_t device_silent_us = assembler->listened_us - assembler->heard_us;
    int64_t lane_silent_us = assembler->listened_us - lane->heard_us;
    return device_silent_us < STALL_US
               ? lane_silent_us >= STALL_US
               : device_silent_us >= PATIENCE_US || assembler->has_hung_up;
}

/* Fills a stream that is behind limit_us of device time. */
static enum sh_status fill_stalled(struct sh_assembler *assembler,
                                   struct lane *lane,
                                   double limit_us,
                                   struct sh_error *err)
{
    if (!sh_frame_number_has_frame(&lane->number)) {
        if ((double)assembler->first_device_us > limit_us) {
            return SH_OK;
        }
        sh_frame_number_set_first(&lane->number, assembler->first_device_us);
    }
    double end = floor(sh_frame_number_get_frame(&lane->number, limit_us)) + 1.0;
    return end > 0.0 ? fill(assembler, lane, (uint64_t)end, err) : SH_OK;
}

enum sh_status sh_assembler_advance(struct sh_assembler *assembler, struct sh_error *err)
{
    enum sh_status status = SH_OK;
    if (is_hold_over(assembler)) {
        status = settle(assembler, err);
    }
    if (status != SH_OK || !assembler->has_settled) {
        return status;
    }
    struct sh_device_clock_line line;
    (void)sh_device_clock_get_line(&assembler->clock, &line); /* settled: has arrivals */
    double limit_us =
        sh_device_clock_line_device(&line, (double)assembler->host_us) - (double)STALL_US;
    for (size_t i = 0; i < assembler->n_lanes && status == SH_OK; i++) {
        if (is_stalled(assembler, &assembler->lanes[i])) {
            status = fill_stalled(assembler, &assembler->lanes[i], limit_us, err);
        }
        if (status == SH_OK) {
            status = hand_block(assembler, &assembler->lanes[i], err);
        }
    }
    return status;
}

enum sh_status sh_assembler_flush(struct sh_assembler *assembler, struct sh_error *err)
{
    enum sh_status status = SH_OK;
    if (assembler->n_held > 0) {
        status = settle(assembler, err);
    }
    for (size_t i = 0; i < assembler->n_lanes && status == SH_OK; i++) {
        status = hand_block(assembler, &assembler->lanes[i], err);
    }
    return status;
}

struct sh_frame_counts sh_assembler_get_counts(const struct sh_assembler *assembler,
                                               size_t stream)
{
    return assembler->lanes[stream].counts;
}

uint64_t sh_assembler_get_strange(const struct sh_assembler *assembler)
{
    return assembler->n_strange;
}

uint64_t sh_assembler_get_restarts(const struct sh_assembler *assembler)
{
    return assembler->clock.n_restarts;
}

double sh_assembler_get_rate_hz(const struct sh_assembler *assembler, size_t stream)
{
    return sh_frame_number_get_rate_hz(&assembler->lanes[stream].number);
}
