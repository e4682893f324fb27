/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/take.h"

#include <stdlib.h>

/* A stream's place in the take: its frames and times are counted from here. */
struct lane {
    bool has_begun;
    uint64_t first_frame;
    bool has_anchor; /* the last one of the sensors' clock, before the first frame */
    struct sh_anchor anchor;
    double frame_s; /* between the last two anchors; the nominal period at first */
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
        take->lane[i].frame_s = 1.0 / take->session.streams[i].stream.rate_hz;
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

static enum sh_status pass_anchor(struct sh_take *take,
                                  size_t stream,
                                  const struct sh_anchor *anchor,
                                  struct sh_error *err)
{
    const struct sh_block_sink files = sh_recording_writer_sink(take->writer);
    const struct sh_block_sink stages = sh_pipeline_get_sink(take->pipeline);
    enum sh_status status = files.anchor(files.context, stream, anchor, err);
    return status == SH_OK ? stages.anchor(stages.context, stream, anchor, err) : status;
}

/*
 * A stream that ran before the take began starts with an anchor at its frame 0, where the last
 * anchor of the sensors' clock puts that frame.
 */
static enum sh_status
begin_lane(struct sh_take *take, const struct sh_block *block, struct sh_error *err)
{
    struct lane *lane = &take->lane[block->stream];
    lane->has_begun = true;
    lane->first_frame = block->first_frame;
    if (!lane->has_anchor) {
        return SH_OK;
    }
    double n_frames = (double)(lane->first_frame - lane->anchor.frame);
    const struct sh_anchor first = {.frame = 0,
                                    .time_s = lane->anchor.time_s + n_frames * lane->frame_s -
                                              take->config.begin_s,
                                    .u_s = lane->anchor.u_s};
    return pass_anchor(take, block->stream, &first, err);
}

static enum sh_status
take_block(void *context, const struct sh_block *block, struct sh_error *err)
{
    struct sh_take *take = context;
    struct lane *lane = &take->lane[block->stream];
    enum sh_status status = begin(take, err);
    if (status == SH_OK && !lane->has_begun) {
        status = begin_lane(take, block, err);
    }
    if (status != SH_OK) {
        return status;
    }
    struct sh_block moved = *block;
    moved.first_frame -= lane->first_frame;
    const struct sh_block_sink files = sh_recording_writer_sink(take->writer);
    const struct sh_block_sink stages = sh_pipeline_get_sink(take->pipeline);
    status = files.block(files.context, &moved, err);
    return status == SH_OK ? stages.block(stages.context, &moved, err) : status;
}

static enum sh_status
take_anchor(void *context, size_t stream, const struct sh_anchor *anchor, struct sh_error *err)
{
    struct sh_take *take = context;
    struct lane *lane = &take->lane[stream];
    if (!lane->has_begun) {
        if (lane->has_anchor && anchor->frame > lane->anchor.frame) {
            lane->frame_s = (anchor->time_s - lane->anchor.time_s) /
                            (double)(anchor->frame - lane->anchor.frame);
        }
        lane->has_anchor = true;
        lane->anchor = *anchor;
        return SH_OK;
    }
    const struct sh_anchor moved = {.frame = anchor->frame - lane->first_frame,
                                    .time_s = anchor->time_s - take->config.begin_s,
                                    .u_s = anchor->u_s};
    return pass_anchor(take, stream, &moved, err);
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
