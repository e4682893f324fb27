/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/remeasure.h"

#include <stdlib.h>
#include <time.h>

#include "measure/measure.h"

#define TRIES   30   /* for samples that are on their way to the files, */
#define WAIT_NS 1e8L /* so long after one another: a stream is synced each second */

struct sh_remeasure *sh_remeasure_open(size_t n)
{
    struct sh_remeasure *job = calloc(1, sizeof *job);
    if (job == NULL) {
        return NULL;
    }
    job->n = n;
    job->draws = calloc(n + 1, sizeof *job->draws);
    if (job->draws == NULL) {
        sh_remeasure_close(&job);
    }
    return job;
}

void sh_remeasure_close(struct sh_remeasure **job)
{
    if (*job != NULL) {
        free((*job)->draws);
        free(*job);
    }
    *job = NULL;
}

static enum sh_status measure_draw(struct sh_recording_reader *reader,
                                   struct sh_workspace *workspace,
                                   struct sh_remeasure_draw *draw,
                                   struct sh_error *err)
{
    const struct sh_session *session = sh_recording_reader_session(reader);
    const struct sh_measure_context around = {.bow = &session->bow,
                                              .marks = session->marks,
                                              .n_marks = session->n_marks,
                                              .previous_release_s = draw->previous_release_s,
                                              .previous_share = draw->previous_share};
    struct sh_owned_view recalled;
    enum sh_status status = sh_recall_open(reader, &draw->recall, &recalled, err);
    if (status != SH_OK) {
        return status;
    }
    status = sh_measure_shot(workspace, &around, &draw->shot, &recalled.view, &draw->measures);
    sh_owned_view_close(&recalled);
    return status == SH_OK ? SH_OK
                           : sh_error_set(err, status, NULL, NULL, "draw %u cannot be measured",
                                          draw->shot.n);
}

static enum sh_status measure_all(const struct sh_remeasure *job, struct sh_error *err)
{
    const struct sh_recording_reader_config reading = sh_recording_reader_config_default();
    struct sh_workspace_config config = sh_workspace_config_default();
    struct sh_recording_reader *reader = NULL;
    struct sh_workspace *workspace = NULL;
    enum sh_status status = sh_recording_reader_open(job->folder, &reading, &reader, err);
    if (status != SH_OK) {
        return status;
    }
    const struct sh_session *session = sh_recording_reader_session(reader);
    config.n_streams = session->n_streams;
    for (size_t i = 0; i < session->n_streams; i++) {
        config.rate_hz[i] = session->streams[i].stream.rate_hz;
    }
    status = sh_workspace_open(&config, &workspace, err);
    for (size_t i = 0; i < job->n && status == SH_OK; i++) {
        status = measure_draw(reader, workspace, &job->draws[i], err);
    }
    sh_workspace_close(&workspace);
    sh_recording_reader_close(&reader);
    return status;
}

void sh_remeasure_run(struct sh_remeasure *job)
{
    const struct timespec wait = {.tv_nsec = (long)WAIT_NS};
    job->status = SH_ERR_SHORT;
    for (int i = 0; i < TRIES && job->status == SH_ERR_SHORT; i++) {
        if (i > 0) {
            (void)nanosleep(&wait, NULL);
        }
        job->err = (struct sh_error){.status = SH_OK};
        job->status = measure_all(job, &job->err);
    }
}
