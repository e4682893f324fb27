/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/pipeline.h"

#include <stdlib.h>

#include "base/day.h"
#include "finding/judge.h"
#include "measure/measure.h"

struct sh_pipeline {
    struct sh_pipeline_config config;
    struct sh_segmenter *segmenter;
    struct sh_workspace *workspace;
    struct sh_quantity previous_release_s;
    struct sh_event_share previous_share;
    char date[SH_DAY_BYTES]; /* of the recording: which limits are in force */
    struct sh_limit_tally tally;
    struct sh_shot_record record;
};

/* What stands out in a draw that has been measured. */
static void judge_shot(struct sh_pipeline *pipeline, struct sh_shot_record *record)
{
    const struct sh_session *session = pipeline->config.session;
    const struct sh_judge judge = {.thresholds = pipeline->config.thresholds,
                                   .baseline = pipeline->config.baseline,
                                   .marks = session->marks,
                                   .n_marks = session->n_marks,
                                   .date = pipeline->date,
                                   .tally = &pipeline->tally};
    sh_judge_shot(&judge, record);
    if (sh_quantity_is_known(&record->shot.event_s[SH_EVENT_RELEASE])) {
        pipeline->previous_release_s = record->shot.event_s[SH_EVENT_RELEASE];
        pipeline->previous_share = record->shot.event_share[SH_EVENT_RELEASE];
    }
}

/* One shot's way: events in, measures, findings, out. */
static enum sh_status take_shot(void *context,
                                const struct sh_shot *shot,
                                const struct sh_shot_view *view,
                                struct sh_error *err)
{
    struct sh_pipeline *pipeline = context;
    const struct sh_session *session = pipeline->config.session;
    struct sh_shot_record *record = &pipeline->record;
    *record = (struct sh_shot_record){.shot = *shot};
    if (pipeline->config.corrections != NULL) {
        sh_corrections_apply(pipeline->config.corrections, &record->shot);
    }
    const struct sh_measure_context around = {.bow = &session->bow,
                                              .marks = session->marks,
                                              .n_marks = session->n_marks,
                                              .previous_release_s =
                                                  pipeline->previous_release_s,
                                              .previous_share = pipeline->previous_share};
    sh_measure_shot(pipeline->workspace, &around, &record->shot, view, &record->measures);
    judge_shot(pipeline, record);
    return pipeline->config.sink.record(pipeline->config.sink.context, record, view, err);
}

static enum sh_status
take_block(void *context, const struct sh_block *block, struct sh_error *err)
{
    struct sh_pipeline *pipeline = context;
    return sh_segmenter_push_block(pipeline->segmenter, block, err);
}

static enum sh_status
take_anchor(void *context, size_t stream, const struct sh_anchor *anchor, struct sh_error *err)
{
    struct sh_pipeline *pipeline = context;
    if (pipeline->config.reading == SH_TIMEBASE_BETWEEN) {
        return SH_OK;
    }
    return sh_segmenter_push_anchor(pipeline->segmenter, stream, anchor, err);
}

static enum sh_status open_segmenter(struct sh_pipeline *pipeline, struct sh_error *err)
{
    const struct sh_session *session = pipeline->config.session;
    struct sh_segmenter_config config = sh_segmenter_config_default();
    config.n_streams = session->n_streams;
    for (size_t i = 0; i < session->n_streams; i++) {
        config.stream[i] = &session->streams[i].stream;
    }
    config.bow = session->bow;
    config.reading = pipeline->config.reading;
    config.median_draw_n = pipeline->config.median_draw_n;
    config.click = pipeline->config.click;
    const struct sh_shot_sink sink = {take_shot, pipeline};
    return sh_segmenter_open(&config, &sink, &pipeline->segmenter, err);
}

static enum sh_status open_workspace(struct sh_pipeline *pipeline, struct sh_error *err)
{
    const struct sh_session *session = pipeline->config.session;
    struct sh_workspace_config config = sh_workspace_config_default();
    config.n_streams = session->n_streams;
    for (size_t i = 0; i < session->n_streams; i++) {
        config.rate_hz[i] = session->streams[i].stream.rate_hz;
    }
    return sh_workspace_open(&config, &pipeline->workspace, err);
}

/* The second pass knows all anchors beforehand. */
static enum sh_status push_all_anchors(struct sh_pipeline *pipeline, struct sh_error *err)
{
    const struct sh_session *session = pipeline->config.session;
    enum sh_status status = SH_OK;
    if (pipeline->config.reading != SH_TIMEBASE_BETWEEN) {
        return SH_OK;
    }
    for (size_t i = 0; i < session->n_streams && status == SH_OK; i++) {
        const struct sh_timebase *timebase = &session->streams[i].timebase;
        for (size_t k = 0; k < timebase->n_anchors && status == SH_OK; k++) {
            status =
                sh_segmenter_push_anchor(pipeline->segmenter, i, &timebase->anchors[k], err);
        }
    }
    return status;
}

/* The local day; none where the recording does not say when it was made. */
static void set_date(struct sh_pipeline *pipeline)
{
    const struct sh_session *session = pipeline->config.session;
    int day = 0;
    if (sh_day_parse_instant(session->started, session->utc_offset_min, &day)) {
        sh_day_format(day, pipeline->date);
    }
}

enum sh_status sh_pipeline_open(const struct sh_pipeline_config *config,
                                struct sh_pipeline **out,
                                struct sh_error *err)
{
    struct sh_pipeline *pipeline = calloc(1, sizeof *pipeline);
    if (pipeline == NULL) {
        return sh_error_set(err, SH_ERR_MEMORY, NULL, NULL, "out of memory");
    }
    pipeline->config = *config;
    pipeline->previous_release_s = sh_quantity_unknown(SH_WHY_NOT_SEEN);
    set_date(pipeline);
    enum sh_status status = open_workspace(pipeline, err);
    if (status == SH_OK) {
        status = open_segmenter(pipeline, err);
    }
    if (status == SH_OK) {
        status = push_all_anchors(pipeline, err);
    }
    if (status == SH_OK) {
        *out = pipeline;
    } else {
        sh_pipeline_close(&pipeline);
    }
    return status;
}

void sh_pipeline_close(struct sh_pipeline **pipeline)
{
    if (pipeline == NULL || *pipeline == NULL) {
        return;
    }
    sh_segmenter_close(&(*pipeline)->segmenter);
    sh_workspace_close(&(*pipeline)->workspace);
    free(*pipeline);
    *pipeline = NULL;
}

struct sh_block_sink sh_pipeline_get_sink(struct sh_pipeline *pipeline)
{
    return (struct sh_block_sink){
        .block = take_block, .anchor = take_anchor, .context = pipeline};
}

enum sh_status sh_pipeline_flush(struct sh_pipeline *pipeline, struct sh_error *err)
{
    return sh_segmenter_flush(pipeline->segmenter, err);
}

void sh_pipeline_amend(struct sh_pipeline *pipeline, struct sh_shot_record *records, size_t n)
{
    pipeline->tally = (struct sh_limit_tally){.n_draws = 0};
    pipeline->previous_release_s = sh_quantity_unknown(SH_WHY_NOT_SEEN);
    pipeline->previous_share = (struct sh_event_share){.is_known = false};
    for (size_t i = 0; i < n; i++) {
        judge_shot(pipeline, &records[i]);
    }
}

void sh_pipeline_get_state(const struct sh_pipeline *pipeline, struct sh_segmenter_state *out)
{
    sh_segmenter_get_state(pipeline->segmenter, out);
}
