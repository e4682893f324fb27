/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_STORY_H
#define SH_APP_STORY_H

#include "app/passes.h"
#include "measure/trace.h"

/*
 * A recording's analysis with what is drawn of each shot: what a report is made of.
 */
struct sh_story {
    struct sh_analysis analysis;
    struct sh_trace *traces; /* owned, [analysis.n_shots] */
    size_t n_traces;
    size_t capacity;
    struct sh_stream *streams; /* owned, as recorded; NULL before the first shot */
    size_t n_streams;
    struct sh_workspace *workspace; /* for traces; NULL before the first shot */
};

/*
 * Analyses folder with both passes, keeping a trace a shot. *story is to be closed whatever
 * comes back. config's watcher is ignored. Statuses of sh_passes_run, SH_ERR_MEMORY.
 */
enum sh_status sh_story_read(const char *folder,
                             const struct sh_passes_config *config,
                             struct sh_story *story,
                             struct sh_error *err);

/* Frees all and zeroes the story. */
void sh_story_close(struct sh_story *story);

#endif
