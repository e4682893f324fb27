/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_PIPELINE_H
#define SH_APP_PIPELINE_H

#include "app/correction.h"
#include "finding/baseline.h"
#include "finding/finding.h"
#include "finding/thresholds.h"
#include "recording/session.h"
#include "sensor/block.h"
#include "shot/segmenter.h"

/*
 * The stages in the order in which data flows: blocks and anchors go in, every shot comes out
 * with its measures and findings. Capture and analysis run this same code, so that what is
 * shown live is what the file gives again.
 */
struct sh_pipeline;

/* record and view are borrowed during the call. A status other than SH_OK stops the push. */
struct sh_record_sink {
    enum sh_status (*record)(void *context,
                             const struct sh_shot_record *record,
                             const struct sh_shot_view *view,
                             struct sh_error *err);
    void *context;
};

struct sh_pipeline_config {
    const struct sh_session *session;       /* kept; marks and anchors may be added meanwhile */
    const struct sh_thresholds *thresholds; /* kept */
    const struct sh_baseline *baseline;     /* kept; NULL: no history */
    enum sh_timebase_reading reading;       /* FORWARD: first pass; BETWEEN: second */
    double median_draw_n;                   /* of the first pass; 0: not known */
    const struct sh_click_template *click;  /* of the first pass, kept; NULL: not known */
    struct sh_corrections *corrections;     /* kept; NULL: none */
    struct sh_record_sink sink;             /* copied, its context kept */
};

/*
 * Opens all stages. BETWEEN takes the clock anchors of the session and passes over those that
 * come by the sink. SH_ERR_ARGUMENT, SH_ERR_UNSUPPORTED, SH_ERR_MEMORY, each with a line in
 * err.
 */
enum sh_status sh_pipeline_open(const struct sh_pipeline_config *config,
                                struct sh_pipeline **out,
                                struct sh_error *err);

/* Closes and sets *pipeline to NULL. Takes NULL inside. Nothing is flushed. */
void sh_pipeline_close(struct sh_pipeline **pipeline);

/* Where a sensor or a recording pushes its blocks and anchors. */
struct sh_block_sink sh_pipeline_get_sink(struct sh_pipeline *pipeline);

/* The streams have ended: draws that still wait come out. Twice adds nothing. */
enum sh_status sh_pipeline_flush(struct sh_pipeline *pipeline, struct sh_error *err);

/*
 * Draws that came out before have been corrected and measured anew: judges all of the recording
 * so far once more in their order, records[n] as the sink got them with what is new put in, and
 * goes on from them: what the draws add up to, and the release that the next set-up counts
 * from, are then theirs. Cost: some microseconds a draw. Test:
 * tests/app/test_live_draws.c.
 */
void sh_pipeline_amend(struct sh_pipeline *pipeline, struct sh_shot_record *records, size_t n);

/* What the archer is doing now (see sh_segmenter_get_state). */
void sh_pipeline_get_state(const struct sh_pipeline *pipeline, struct sh_segmenter_state *out);

#endif
