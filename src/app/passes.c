/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/passes.h"

#include <stdlib.h>
#include <string.h>

#include "app/click_learner.h"
#include "app/finger_check.h"
#include "app/finger_history.h"
#include "app/history_folders.h"
#include "app/home.h"
#include "app/progress.h"
#include "app/say.h"
#include "app/session_quality.h"
#include "recording/recording_reader.h"
#include "series/arrow.h"
#include "signal/stats.h"

/* One pass over a recording that is open. */
struct pass {
    struct sh_recording_reader *reader;
    struct sh_analysis *analysis;
    const struct sh_record_sink *watcher; /* NULL: nobody looks */
    struct sh_click_learner *learner;     /* NULL: nobody learns */
    struct sh_progress progress;
    struct sh_block_sink stages;
};

static enum sh_status take_record(void *context,
                                  const struct sh_shot_record *record,
                                  const struct sh_shot_view *view,
                                  struct sh_error *err)
{
    struct pass *pass = context;
    enum sh_status status = sh_analysis_add(pass->analysis, record);
    if (status != SH_OK) {
        return sh_error_set(err, status, pass->analysis->recording, NULL, "too many shots");
    }
    if (pass->learner != NULL) {
        sh_click_learner_learn(pass->learner, view, &record->shot);
    }
    if (pass->watcher != NULL && pass->watcher->record != NULL) {
        return pass->watcher->record(pass->watcher->context, record, view, err);
    }
    return SH_OK;
}

static enum sh_status
take_block(void *context, const struct sh_block *block, struct sh_error *err)
{
    struct pass *pass = context;
    const struct sh_session *session = sh_recording_reader_session(pass->reader);
    double rate_hz = session->streams[block->stream].stream.rate_hz;
    sh_progress_set(&pass->progress, (double)block->first_frame / rate_hz);
    return pass->stages.block(pass->stages.context, block, err);
}

static enum sh_status
take_anchor(void *context, size_t stream, const struct sh_anchor *anchor, struct sh_error *err)
{
    struct pass *pass = context;
    return pass->stages.anchor(pass->stages.context, stream, anchor, err);
}

/* Reads the whole recording through all stages into pass->analysis. */
static enum sh_status
run_pass(struct pass *pass, const struct sh_pipeline_config *config, struct sh_error *err)
{
    struct sh_pipeline *pipeline = NULL;
    struct sh_pipeline_config stages = *config;
    stages.session = sh_recording_reader_session(pass->reader);
    stages.sink = (struct sh_record_sink){take_record, pass};
    enum sh_status status = sh_pipeline_open(&stages, &pipeline, err);
    if (status != SH_OK) {
        return status;
    }
    pass->stages = sh_pipeline_get_sink(pipeline);
    if (config->corrections != NULL) {
        sh_corrections_begin(config->corrections);
    }
    sh_progress_init(&pass->progress, pass->analysis->recording);
    const struct sh_block_sink sink = {
        .block = take_block, .anchor = take_anchor, .context = pass};
    status = sh_recording_reader_push(pass->reader, &sink, err);
    if (status == SH_OK) {
        status = sh_pipeline_flush(pipeline, err);
    }
    sh_progress_close(&pass->progress);
    sh_pipeline_close(&pipeline);
    return status;
}

/* Median of the draws' forces, by which the second pass knows a draw; 0 where none is known. */
static double find_median_draw_n(const struct sh_analysis *analysis)
{
    double *force_n = malloc((analysis->n_shots + 1) * sizeof *force_n);
    double *work = malloc((analysis->n_shots + 1) * sizeof *work);
    double median_n = 0.0;
    size_t n = 0;
    for (size_t i = 0; force_n != NULL && i < analysis->n_shots; i++) {
        const struct sh_quantity *force =
            sh_catalog_get(&analysis->shots[i].measures, SH_MEASURE_HOLD_FORCE, 0);
        if (sh_quantity_is_known(force)) {
            force_n[n++] = force->value;
        }
    }
    if (force_n == NULL || work == NULL ||
        sh_stats_get_median(force_n, n, work, &median_n, NULL) != SH_OK) {
        median_n = 0.0;
    }
    free(force_n);
    free(work);
    return median_n;
}

/* Time of the last sample of any stream. */
static double find_duration_s(const struct sh_session *session,
                              const uint64_t n_frames[SH_STREAMS_MAX],
                              enum sh_timebase_reading reading)
{
    double duration_s = 0.0;
    for (size_t i = 0; i < session->n_streams; i++) {
        double until_s =
            sh_timebase_time(&session->streams[i].timebase, reading, (double)n_frames[i], NULL);
        duration_s = n_frames[i] > 0 && until_s > duration_s ? until_s : duration_s;
    }
    return duration_s;
}

void sh_passes_complete(const struct sh_session *session,
                        const uint64_t n_frames[SH_STREAMS_MAX],
                        enum sh_timebase_reading reading,
                        struct sh_analysis *analysis)
{
    analysis->duration_s = find_duration_s(session, n_frames, reading);
    sh_session_quality_add(session, analysis);
    sh_arrow_put_scores(analysis, session->marks, session->n_marks);
}

static void complete(const struct sh_recording_reader *reader,
                     enum sh_timebase_reading reading,
                     struct sh_analysis *analysis)
{
    const struct sh_session *session = sh_recording_reader_session(reader);
    uint64_t n_frames[SH_STREAMS_MAX] = {0};
    for (size_t i = 0; i < session->n_streams; i++) {
        n_frames[i] = sh_recording_reader_n_frames(reader, i);
    }
    sh_passes_complete(session, n_frames, reading, analysis);
}

/* What earlier recordings say is usual. */
struct past {
    struct sh_baseline baseline;
    struct sh_finger_sum_past finger_sum;
};

/* Both passes over an open recording; *later is the result. */
static enum sh_status run_passes(struct sh_recording_reader *reader,
                                 const struct sh_passes_config *config,
                                 const struct past *past,
                                 struct sh_pipeline_config *stages,
                                 struct sh_analysis *later,
                                 struct sh_error *err)
{
    struct sh_analysis first;
    struct sh_click_learner learner;
    sh_analysis_init(&first, later->recording, later->athlete);
    struct pass pass = {.reader = reader, .analysis = &first, .learner = &learner};
    stages->reading = SH_TIMEBASE_FORWARD;
    enum sh_status status =
        sh_click_learner_open(&learner, sh_recording_reader_session(reader), err);
    if (status == SH_OK) {
        status = run_pass(&pass, stages, err);
    }
    if (status == SH_OK) {
        pass.analysis = later;
        pass.learner = NULL;
        pass.watcher = &config->watcher;
        stages->reading = SH_TIMEBASE_BETWEEN;
        stages->median_draw_n = find_median_draw_n(&first);
        stages->click = sh_click_learner_finish(&learner);
        status = run_pass(&pass, stages, err);
    }
    if (status == SH_OK) {
        sh_analysis_compare(&first, later);
        status = sh_finger_check_mark(later, &past->finger_sum);
    }
    stages->click = NULL;
    sh_click_learner_close(&learner);
    sh_analysis_close(&first);
    return status;
}

/* A pass that only finds the draws of the corrections; costs a pass where there are any. */
static enum sh_status settle_corrections(struct sh_recording_reader *reader,
                                         const char *recording,
                                         const struct sh_pipeline_config *stages,
                                         struct sh_error *err)
{
    struct sh_analysis scouted;
    if (stages->corrections->n == 0) {
        return SH_OK;
    }
    sh_analysis_init(&scouted, recording, "");
    struct pass pass = {.reader = reader, .analysis = &scouted};
    enum sh_status status = run_pass(&pass, stages, err);
    if (status == SH_OK) {
        sh_corrections_settle(stages->corrections, &scouted);
    }
    sh_analysis_close(&scouted);
    return status;
}

static void say_unused(const struct sh_corrections *corrections, const char *recording)
{
    struct sh_error unused = {0};
    if (sh_corrections_find_unused(corrections, recording, &unused)) {
        (void)sh_say_error(&unused, SH_EXIT_DONE);
    }
}

static enum sh_status run_open(struct sh_recording_reader *reader,
                               const struct sh_passes_config *config,
                               const struct past *past,
                               struct sh_analysis *analysis,
                               struct sh_error *err)
{
    const struct sh_session *session = sh_recording_reader_session(reader);
    struct sh_corrections corrections;
    struct sh_pipeline_config stages = {.thresholds = config->thresholds,
                                        .baseline =
                                            config->n_history > 0 ? &past->baseline : NULL,
                                        .reading = SH_TIMEBASE_FORWARD,
                                        .corrections = &corrections};
    enum sh_status status = sh_corrections_open(session->marks, session->n_marks, &corrections);
    if (status != SH_OK) {
        return sh_error_set(err, status, NULL, NULL, "out of memory");
    }
    status = settle_corrections(reader, analysis->recording, &stages, err);
    if (status == SH_OK && config->is_first_only) {
        struct pass pass = {
            .reader = reader, .analysis = analysis, .watcher = &config->watcher};
        status = run_pass(&pass, &stages, err);
    } else if (status == SH_OK) {
        status = run_passes(reader, config, past, &stages, analysis, err);
    }
    if (status == SH_OK) {
        complete(reader, stages.reading, analysis);
        say_unused(&corrections, analysis->recording);
    }
    if (status == SH_OK && config->corrections != NULL) {
        *config->corrections = corrections;
    } else {
        sh_corrections_close(&corrections);
    }
    return status;
}

enum sh_status sh_passes_run(const char *folder,
                             const struct sh_passes_config *config,
                             struct sh_analysis *out,
                             struct sh_error *err)
{
    struct sh_recording_reader *reader = NULL;
    struct sh_analysis analysis = {0};
    struct past past = {.finger_sum = {.n_sessions = 0}};
    char name[SH_SESSION_FILE_BYTES];
    const struct sh_recording_reader_config reading = sh_recording_reader_config_default();
    enum sh_status status = sh_recording_reader_open(folder, &reading, &reader, err);
    if (status != SH_OK) {
        return status;
    }
    sh_home_copy_name(folder, name, sizeof name);
    sh_analysis_init(&analysis, name, sh_recording_reader_session(reader)->athlete);
    if (config->n_history > 0) {
        status = sh_history_folders_read(config, &analysis, &past.baseline, err);
    }
    if (status == SH_OK && !config->is_first_only) {
        status = sh_finger_history_read(config, sh_recording_reader_session(reader),
                                        &past.finger_sum, err);
    }
    if (status == SH_OK) {
        status = run_open(reader, config, &past, &analysis, err);
    }
    sh_recording_reader_close(&reader);
    if (status == SH_OK) {
        *out = analysis;
    } else {
        sh_analysis_close(&analysis);
    }
    return status;
}
