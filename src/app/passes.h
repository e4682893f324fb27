/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_PASSES_H
#define SH_APP_PASSES_H

#include <stdbool.h>

#include "app/pipeline.h"
#include "finding/analysis.h"

/*
 * Analyses a recording: the first pass, which gives what capture showed, then the second, which
 * knows the whole session (its clock on both sides of every frame, its median draw, the look of
 * this archer's click).
 */

struct sh_passes_config {
    const struct sh_thresholds *thresholds;
    const char *const *history; /* [n_history] folders of earlier recordings */
    size_t n_history;
    bool is_first_only;
    /* Sees every shot of the last pass with its samples; record NULL: nobody looks. */
    struct sh_record_sink watcher;
    /* What became of the recording's corrections, to be closed; NULL: nobody asks. */
    struct sh_corrections *corrections;
};

/*
 * Runs the passes over folder and gives the result in *out (set only on success, to be closed
 * with sh_analysis_close). Shows progress on standard error where that is a terminal. Statuses
 * and lines of sh_recording_reader_open, sh_recording_reader_push, sh_pipeline_open and
 * watcher. A person's corrections are used in every pass; one that cannot be is said in a line
 * on standard error, and the analysis goes on. The same recording and config give the same
 * result to the bit.
 */
enum sh_status sh_passes_run(const char *folder,
                             const struct sh_passes_config *config,
                             struct sh_analysis *out,
                             struct sh_error *err);

/*
 * Completes an analysis by what the session says as a whole: its length in that reading of its
 * clocks, n_frames[session->n_streams] long, samples lost, and the shots' quality added up.
 */
void sh_passes_complete(const struct sh_session *session,
                        const uint64_t n_frames[SH_STREAMS_MAX],
                        enum sh_timebase_reading reading,
                        struct sh_analysis *analysis);

#endif
