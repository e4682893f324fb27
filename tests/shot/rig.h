/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_TESTS_SHOT_RIG_H
#define SH_TESTS_SHOT_RIG_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "shot/segmenter.h"

/*
 * A simulated recording of several draws, kept as raw samples, to be pushed through a segmenter
 * in any cut and order; and what comes out, kept as a digest of every bit of shots and views.
 */
#define RIG_DRAWS_MAX   12u
#define RIG_ANCHORS_MAX 64u

struct rig_draw {
    double gap_s; /* from the last one's tail to the hand on the string */
    /* of the truth, s of the recording: */
    double begin_s;
    double draw_start_s;
    double full_draw_s;
    double release_s;
    unsigned faults; /* sh_archer_fault */
    bool is_let_down;
};

struct rig_stream {
    struct sh_stream described;
    size_t n_frames;
    double *raw; /* [n_frames][n_channels] */
    bool *is_filled;
    size_t n_anchors;
    struct sh_anchor anchor[RIG_ANCHORS_MAX];
};

struct rig {
    size_t n_draws;
    struct rig_draw draw[RIG_DRAWS_MAX];
    size_t n_streams;
    struct rig_stream stream[SH_STREAMS_MAX];
    double length_s;
};

/* Stream 0: string force at rate_hz in counts, noise_n. Only n_draws, faults and gap_s of the
 * draws are read; the truth is written. Closed by rig_close. */
void rig_open(struct rig *rig,
              const struct rig_draw *draw,
              size_t n_draws,
              double rate_hz,
              double noise_n);
void rig_close(struct rig *rig);

/* Adds a stream of three axes that shakes at each release, and returns its index. */
size_t rig_add_bow(struct rig *rig, double rate_hz);

/* Gives a stream anchors every 10 s that jump about by some 0.2 ms. */
void rig_add_anchors(struct rig *rig, size_t stream, double drift_ratio);

/* What a segmenter gave. */
#define RIG_SHOTS_MAX 16u
struct rig_result {
    size_t n_shots;
    struct sh_shot shot[RIG_SHOTS_MAX];
    uint64_t digest;
    enum sh_status answer; /* the sink's, SH_OK at first */
};
struct sh_shot_sink rig_sink(struct rig_result *result);

/* How the streams are cut: blocks of block_frames frames (0: all at once), stream s ahead by
 * ahead_s[s]. Blocks are pushed in the order of their end times. */
struct rig_cut {
    size_t block_frames[SH_STREAMS_MAX];
    double ahead_s[SH_STREAMS_MAX];
    enum sh_timebase_reading reading; /* BETWEEN: all anchors first */
};

/* Pushes everything in that cut, without a flush. */
void rig_push(const struct rig *rig, const struct rig_cut *cut, struct sh_segmenter *segmenter);

/* Opens a segmenter with the rig's streams and the given bow and reading. */
struct sh_segmenter *rig_open_segmenter(const struct rig *rig,
                                        const struct sh_segmenter_config *config,
                                        struct rig_result *result);

/* Four draws: one soon after a let-down, one that collapses. */
#define RIG_SOME_DRAWS 4u
extern const struct rig_draw rig_some_draws[RIG_SOME_DRAWS];

/* The default, with a draw weight where it is above 0. */
struct sh_segmenter_config rig_get_config(double weight_n);

/* Pushes everything in that cut through a segmenter, to its end. */
struct rig_result rig_run(const struct rig *rig,
                          const struct sh_segmenter_config *config,
                          const struct rig_cut *cut);

#endif
