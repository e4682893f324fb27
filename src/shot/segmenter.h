/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SHOT_SEGMENTER_H
#define SH_SHOT_SEGMENTER_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "recording/session.h"
#include "sensor/block.h"
#include "sensor/timebase.h"
#include "shot/click_template.h"
#include "shot/shot.h"

/*
 * The streaming segmenter: blocks of samples in, one shot at a time out.
 *
 * It mends single readings that are nonsense (shot/spike.h), keeps the last minute of every
 * stream (shot/history.h), watches the force for draws
 * (shot/detector.h), and once all streams have come SH_SHOT_TAIL_S past a draw's end, cuts the
 * window out of the histories, finds the events in it and hands shot and view to the sink.
 *
 * What comes out depends on samples and anchors alone: every cut of the streams into blocks and
 * every interleaving of them gives the same bits, as long as no stream runs further ahead than
 * the history reaches (60 s, less the draw's own window: 12 s before it, the draw, and the
 * tail). The source keeps all streams moving (lost samples come as filled blocks); where one
 * stands still all the same, a draw is finished without its samples before its window would
 * fall out of the history.
 *
 * Bounds: SH_SEGMENTER_PENDING_MAX draws may wait for their tail; before one more would, the
 * first is finished with what has come. Draws over SH_DETECTOR_DRAW_MAX_S are given up.
 *
 * Memory is taken when it is opened; anchors grow their list. One thread at a time.
 * Test: tests/shot/test_segmenter.c.
 */
struct sh_segmenter;

#define SH_SEGMENTER_PENDING_MAX 8u
#define SH_SEGMENTER_DRAW_MIN_N  20.0 /* net force of a draw at the least, N, */
#define SH_SEGMENTER_DRAW_RATIO  0.35 /* and this share of the draw weight */

struct sh_segmenter_config {
    size_t n_streams;                               /* 1 to SH_STREAMS_MAX */
    const struct sh_stream *stream[SH_STREAMS_MAX]; /* copied when opened */
    struct sh_bow bow;
    /* FORWARD: anchors come before the blocks that they count for. BETWEEN: all of them come
     * before the first block. */
    enum sh_timebase_reading reading;
    double median_draw_n; /* of this session, for a bow of unknown weight; 0: unknown */
    /* What this archer's clicker looks like, finished; kept; NULL: not known. */
    const struct sh_click_template *click;
};

/* Nothing known; FORWARD. */
struct sh_segmenter_config sh_segmenter_config_default(void);

/*
 * Without a force a shot is the shock of its release in the acceleration (shot/shock.h): draw
 * start, full draw and let-downs are unknown.
 */

/* Shot and view are borrowed during the call. A status other than SH_OK stops the push. */
struct sh_shot_sink {
    enum sh_status (*shot)(void *context,
                           const struct sh_shot *shot,
                           const struct sh_shot_view *view,
                           struct sh_error *err);
    void *context;
};

/*
 * Opens a segmenter; copies config and sink, keeps the sink's context. SH_ERR_ARGUMENT: no
 * stream, a stream that no window opens on, no channel that shows a draw, a weight or median
 * that is not a force. SH_ERR_UNSUPPORTED: too much memory. SH_ERR_MEMORY. Gives *out.
 */
enum sh_status sh_segmenter_open(const struct sh_segmenter_config *config,
                                 const struct sh_shot_sink *sink,
                                 struct sh_segmenter **out,
                                 struct sh_error *err);

/* Closes and sets *segmenter to NULL; takes NULL and a pointer to NULL. Nothing is flushed. */
void sh_segmenter_close(struct sh_segmenter **segmenter);

/*
 * Takes the next frames of a stream. SH_ERR_ARGUMENT: no such stream, another number of
 * channels, frames that do not follow the last ones (the first block may begin anywhere), or
 * after a flush. SH_ERR_NOT_FINITE: a sample is not a number; the frames before it were taken.
 * What the sink returns. Cost: some hundred operations a frame.
 */
enum sh_status sh_segmenter_push_block(struct sh_segmenter *segmenter,
                                       const struct sh_block *block,
                                       struct sh_error *err);

/*
 * Takes an anchor of a stream's clock. SH_ERR_ARGUMENT: no such stream, or not after the last
 * anchor; FORWARD: a frame from it on has already come; BETWEEN: any frame has. Others as
 * sh_timebase_append.
 */
enum sh_status sh_segmenter_push_anchor(struct sh_segmenter *segmenter,
                                        size_t stream,
                                        const struct sh_anchor *anchor,
                                        struct sh_error *err);

/*
 * The streams have ended: finishes all draws with what has come, one still held too
 * (unresolved). A second flush does nothing. What the sink returns.
 */
enum sh_status sh_segmenter_flush(struct sh_segmenter *segmenter, struct sh_error *err);

/* As newly opened: no frames, no anchors. */
void sh_segmenter_reset(struct sh_segmenter *segmenter);

enum sh_segmenter_phase {
    SH_SEGMENTER_UNKNOWN, /* no channel of force shows it */
    SH_SEGMENTER_REST,
    SH_SEGMENTER_DRAWING,
    SH_SEGMENTER_HOLD
};

/* What the archer is doing now, as well as it can be told at once: for a live line. */
struct sh_segmenter_state {
    enum sh_segmenter_phase phase;
    double since_s;      /* the phase began */
    double now_s;        /* time of the latest frame of the force, or of the acceleration */
    double force_n;      /* net, about the last 20 ms */
    unsigned n_shots;    /* handed to the sink */
    size_t n_pending;    /* draws that wait for their tail */
    uint64_t n_given_up; /* loads that lasted too long to be draws */
};

void sh_segmenter_get_state(const struct sh_segmenter *segmenter,
                            struct sh_segmenter_state *out);

#endif
