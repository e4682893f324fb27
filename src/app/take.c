/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/take.h"

#include <math.h>
#include <stdlib.h>

#include "app/passes.h"

/* A stream's place in the take: its frames and times are counted from here. */
struct lane {
    bool has_begun;
    uint64_t first_frame;
    bool has_second; /* of the sensors' clock: where the line at the first frame goes on to */
    struct sh_anchor second;
    uint64_t n_frames; /* so far, lost ones too */
    double last_s;     /* time of the last anchor passed on */
};

struct sh_take {
    struct sh_take_config config;
    struct sh_session session; /* the template: no marks, anchors or gaps of its own */
    struct sh_recording_writer *writer;
    struct sh_pipeline *pipeline;
    struct lane lane[SH_STREAMS_MAX];
};

enum sh_status
sh_take_open(const struct sh_take_config *config, struct sh_take **out, struct sh_error *err)
{
    struct sh_take *take = calloc(1, sizeof *take);
    if (take == NULL) {
        return sh_error_set(err, SH_ERR_MEMORY, NULL, NULL, "out of memory");
    }
    take->config = *config;
    take->session = *config->session;
    for (size_t i = 0; i < take->session.n_streams; i++) {
        take->lane[i].last_s = (double)-INFINITY;
    }
    *out = take;
    return SH_OK;
}

void sh_take_close(struct sh_take **take)
{
    if (take == NULL || *take == NULL) {
        return;
    }
    sh_pipeline_close(&(*take)->pipeline);
    sh_recording_writer_close(&(*take)->writer);
    free(*take);
    *take = NULL;
}

/* Makes the folder and opens the stages over its session, unless they are there. */
static enum sh_status begin(struct sh_take *take, struct sh_error *err)
{
    if (take->pipeline != NULL) {
        return SH_OK;
    }
    const struct sh_recording_writer_config writing = sh_recording_writer_config_default();
    enum sh_status status = SH_OK;
    if (take->writer == NULL) {
        status = sh_recording_writer_open(take->config.folder, &take->session, &writing,
                                          &take->writer, err);
    }
    if (status != SH_OK) {
        return status;
    }
    const struct sh_pipeline_config stages = {.session =
                                                  sh_recording_writer_session(take->writer),
                                              .thresholds = take->config.thresholds,
                                              .reading = SH_TIMEBASE_FORWARD,
                                              .sink = take->config.sink};
    return sh_pipeline_open(&stages, &take->pipeline, err);
}

/* An anchor of the sensors' clock; times only go up, so one that would not is passed over. */
static enum sh_status pass_anchor(struct sh_take *take,
                                  size_t stream,
                                  const struct sh_anchor *anchor,
                                  struct sh_error *err)
{
    struct lane *lane = &take->lane[stream];
    const struct sh_anchor moved = {.frame = anchor->frame - lane->first_frame,
                                    .time_s = anchor->time_s - take->config.begin_s,
                                    .u_s = anchor->u_s};
    if (moved.time_s <= lane->last_s) {
        return SH_OK;
    }
    lane->last_s = moved.time_s;
    const struct sh_block_sink files = sh_recording_writer_sink(take->writer);
    const struct sh_block_sink stages = sh_pipeline_get_sink(take->pipeline);
    enum sh_status status = files.anchor(files.context, stream, &moved, err);
    return status == SH_OK ? stages.anchor(stages.context, stream, &moved, err) : status;
}

/*
 * The first frame's time. Where the sensor ran before the take, an anchor a second later is to
 * follow on the same line, so that its rate is known on, not the nominal one.
 */
static enum sh_status
begin_lane(struct sh_take *take, const struct sh_block *block, struct sh_error *err)
{
    struct lane *lane = &take->lane[block->stream];
    const struct sh_clocks *clocks = take->config.clocks;
    const struct sh_timebase *timebase = &clocks->timebase[block->stream];
    struct sh_anchor first;
    lane->has_begun = true;
    lane->first_frame = block->first_frame;
    if (!sh_clocks_find_anchor(clocks, block->stream, lane->first_frame, &first)) {
        return SH_OK;
    }
    uint64_t n_frames = (uint64_t)ceil(timebase->rate_hz);
    lane->has_second = timebase->n_anchors > 1 &&
                       sh_clocks_find_anchor(clocks, block->stream,
                                             lane->first_frame + n_frames, &lane->second);
    return pass_anchor(take, block->stream, &first, err);
}

static enum sh_status
pass_block(struct sh_take *take, const struct sh_block *block, struct sh_error *err)
{
    struct sh_block moved = *block;
    struct lane *lane = &take->lane[block->stream];
    moved.first_frame -= lane->first_frame;
    lane->n_frames = moved.first_frame + moved.n_frames;
    const struct sh_block_sink files = sh_recording_writer_sink(take->writer);
    const struct sh_block_sink stages = sh_pipeline_get_sink(take->pipeline);
    enum sh_status status = files.block(files.context, &moved, err);
    return status == SH_OK ? stages.block(stages.context, &moved, err) : status;
}

/* Passes the part of the block before the second anchor, then the anchor; *rest is left. */
static enum sh_status
pass_second(struct sh_take *take, struct sh_block *rest, struct sh_error *err)
{
    struct lane *lane = &take->lane[rest->stream];
    size_t n_before = (size_t)(lane->second.frame - rest->first_frame);
    struct sh_block before = *rest;
    before.n_frames = n_before;
    enum sh_status status = n_before > 0 ? pass_block(take, &before, err) : SH_OK;
    lane->has_second = false;
    rest->first_frame += n_before;
    rest->n_frames -= n_before;
    rest->raw += n_before * rest->n_channels;
    return status == SH_OK ? pass_anchor(take, rest->stream, &lane->second, err) : status;
}

static enum sh_status
take_block(void *context, const struct sh_block *block, struct sh_error *err)
{
    struct sh_take *take = context;
    struct lane *lane = &take->lane[block->stream];
    struct sh_block rest = *block;
    enum sh_status status = begin(take, err);
    if (status == SH_OK && !lane->has_begun) {
        status = begin_lane(take, block, err);
    }
    if (status == SH_OK && lane->has_second &&
        lane->second.frame < block->first_frame + block->n_frames) {
        status = pass_second(take, &rest, err);
    }
    return status == SH_OK ? pass_block(take, &rest, err) : status;
}

/* An anchor before the stream's first frame in the take is in the clocks. */
static enum sh_status
take_anchor(void *context, size_t stream, const struct sh_anchor *anchor, struct sh_error *err)
{
    struct sh_take *take = context;
    struct lane *lane = &take->lane[stream];
    if (!lane->has_begun) {
        return SH_OK;
    }
    if (lane->has_second && anchor->frame <= lane->second.frame) {
        lane->has_second = false;
    }
    return pass_anchor(take, stream, anchor, err);
}

struct sh_block_sink sh_take_get_sink(struct sh_take *take)
{
    return (struct sh_block_sink){.block = take_block, .anchor = take_anchor, .context = take};
}

enum sh_status
sh_take_add_mark(struct sh_take *take, const struct sh_mark *mark, struct sh_error *err)
{
    enum sh_status status = begin(take, err);
    return status == SH_OK ? sh_recording_writer_add_mark(take->writer, mark, err) : status;
}

enum sh_status
sh_take_set_tag(struct sh_take *take, const struct sh_tag *tag, struct sh_error *err)
{
    enum sh_status status = begin(take, err);
    return status == SH_OK ? sh_recording_writer_set_tag(take->writer, tag, err) : status;
}

enum sh_status sh_take_remove_mark(struct sh_take *take, size_t index, struct sh_error *err)
{
    return take->writer != NULL ? sh_recording_writer_remove_mark(take->writer, index, err)
                                : sh_error_set(err, SH_ERR_NOT_FOUND, take->config.folder, NULL,
                                               "nothing has been recorded yet");
}

const struct sh_session *sh_take_get_session(const struct sh_take *take)
{
    return take->writer != NULL ? sh_recording_writer_session(take->writer) : NULL;
}

void sh_take_amend(struct sh_take *take, struct sh_shot_record *records, size_t n)
{
    if (take->pipeline != NULL) {
        sh_pipeline_amend(take->pipeline, records, n);
    }
}

void sh_take_set_counts(struct sh_take *take,
                        size_t stream,
                        const struct sh_frame_counts *counts)
{
    if (take->writer != NULL) {
        (void)sh_recording_writer_set_counts(take->writer, stream, counts);
    }
}

void sh_take_get_state(const struct sh_take *take, struct sh_segmenter_state *out)
{
    *out = (struct sh_segmenter_state){0};
    if (take->pipeline != NULL) {
        sh_pipeline_get_state(take->pipeline, out);
    }
}

void sh_take_complete(const struct sh_take *take, struct sh_analysis *analysis)
{
    uint64_t n_frames[SH_STREAMS_MAX] = {0};
    for (size_t i = 0; i < take->session.n_streams; i++) {
        n_frames[i] = take->lane[i].n_frames;
    }
    if (take->writer != NULL) {
        sh_passes_complete(sh_recording_writer_session(take->writer), n_frames,
                           SH_TIMEBASE_FORWARD, analysis);
    }
}

bool sh_take_has_folder(const struct sh_take *take)
{
    return take->writer != NULL;
}

enum sh_status sh_take_finish(struct sh_take *take, bool to_flac, struct sh_error *err)
{
    if (take->pipeline == NULL) {
        return SH_OK;
    }
    enum sh_status status = sh_pipeline_flush(take->pipeline, err);
    enum sh_status finished = sh_recording_writer_finish(take->writer, to_flac, err);
    return status != SH_OK ? status : finished;
}
