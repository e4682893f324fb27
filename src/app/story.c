/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/story.h"

#include <stdlib.h>

#define FIRST_CAPACITY 16u

static enum sh_status
open_workspace(struct sh_story *story, const struct sh_shot_view *view, struct sh_error *err)
{
    struct sh_workspace_config config = sh_workspace_config_default();
    if (story->workspace != NULL) {
        return SH_OK;
    }
    config.n_streams = view->n_streams;
    for (size_t i = 0; i < view->n_streams; i++) {
        config.rate_hz[i] = view->stream[i].stream->rate_hz;
    }
    return sh_workspace_open(&config, &story->workspace, err);
}

/* How the sensors were calibrated, from the first shot's view. */
static enum sh_status
copy_streams(struct sh_story *story, const struct sh_shot_view *view, struct sh_error *err)
{
    if (story->streams != NULL || view->n_streams == 0) {
        return SH_OK;
    }
    story->streams = calloc(view->n_streams, sizeof *story->streams);
    if (story->streams == NULL) {
        return sh_error_set(err, SH_ERR_MEMORY, NULL, NULL, "out of memory");
    }
    story->n_streams = view->n_streams;
    for (size_t i = 0; i < view->n_streams; i++) {
        story->streams[i] = *view->stream[i].stream;
    }
    return SH_OK;
}

static enum sh_status make_room(struct sh_story *story, struct sh_error *err)
{
    if (story->n_traces < story->capacity) {
        return SH_OK;
    }
    size_t capacity = story->capacity != 0 ? 2 * story->capacity : FIRST_CAPACITY;
    struct sh_trace *grown = realloc(story->traces, capacity * sizeof *grown);
    if (grown == NULL) {
        return sh_error_set(err, SH_ERR_MEMORY, NULL, NULL, "out of memory");
    }
    story->traces = grown;
    story->capacity = capacity;
    return SH_OK;
}

static enum sh_status take_record(void *context,
                                  const struct sh_shot_record *record,
                                  const struct sh_shot_view *view,
                                  struct sh_error *err)
{
    struct sh_story *story = context;
    enum sh_status status = open_workspace(story, view, err);
    if (status == SH_OK) {
        status = copy_streams(story, view, err);
    }
    if (status == SH_OK) {
        status = make_room(story, err);
    }
    if (status == SH_OK) {
        status = sh_trace_make(story->workspace, &record->shot, view,
                               &story->traces[story->n_traces]);
        story->n_traces += status == SH_OK ? 1 : 0;
    }
    return status;
}

enum sh_status sh_story_read(const char *folder,
                             const struct sh_passes_config *config,
                             struct sh_story *story,
                             struct sh_error *err)
{
    struct sh_passes_config watched = *config;
    *story = (struct sh_story){0};
    watched.watcher = (struct sh_record_sink){take_record, story};
    return sh_passes_run(folder, &watched, &story->analysis, err);
}

void sh_story_close(struct sh_story *story)
{
    sh_analysis_close(&story->analysis);
    sh_workspace_close(&story->workspace);
    free(story->traces);
    free(story->streams);
    *story = (struct sh_story){0};
}
