/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SHOT_DETECTOR_H
#define SH_SHOT_DETECTOR_H

#include <stdbool.h>
#include <stdint.h>

#include "base/status.h"
#include "shot/rest.h"

/*
 * Watches the force sample by sample and says where a draw may be: a net force above its
 * threshold for long enough, until it has gone again. It looks a little too readily
 * (SH_DETECTOR_EASE); what it finds is judged afterwards against the definition. It also keeps
 * the live level of rest, which stands still during a draw.
 *
 * A plain value without heap; one thread at a time; depends on the samples alone, never on how
 * they were cut. Test: tests/shot/test_detector.c.
 */
#define SH_DETECTOR_DRAW_S    0.3 /* above the threshold: a draw */
#define SH_DETECTOR_GONE_S    0.1 /* below the end's level: over */
#define SH_DETECTOR_EASE      0.8 /* of threshold and time */
#define SH_DETECTOR_END_RATIO 0.6 /* of the threshold: the end's level, or this of the */
#define SH_DETECTOR_PEAK_RATIO                                                                 \
    0.25 /* draw's largest force, whichever is more: above a preload */
#define SH_DETECTOR_DRAW_MAX_S 40.0 /* longer is a load or a new zero, not a draw: given up */

enum sh_detector_phase {
    SH_DETECTOR_REST,
    SH_DETECTOR_DRAWING, /* the force rises, or has not settled */
    SH_DETECTOR_HOLD     /* it has nearly stopped rising, or falls: for the live line only */
};

enum sh_detector_event {
    SH_DETECTOR_NONE,
    SH_DETECTOR_ENDED,   /* a draw may be over: first_frame and end_frame say where */
    SH_DETECTOR_GAVE_UP, /* SH_DETECTOR_DRAW_MAX_S passed */
};

struct sh_detector {
    double rate_hz;
    double threshold_n;
    struct sh_rest rest;
    uint64_t next_frame;
    bool is_drawn;
    double base_n;        /* level of rest while it is drawn */
    uint64_t n_above;     /* frames in a row above the eased threshold */
    uint64_t n_below;     /* frames in a row below the end's level */
    uint64_t first_frame; /* of the draw: first one above the eased threshold */
    uint64_t end_frame;   /* first of the frames below the end's level */
    double fast_n;        /* net force, averages that forget in 20, 50 and 100 ms */
    double middle_n;
    double slow_n;
    double largest_n; /* of fast_n in this draw */
    double steepest_n;
    enum sh_detector_phase phase;
    uint64_t phase_frame; /* since when */
    uint64_t n_given_up;
};

/* rate_hz and threshold_n above 0 and finite; resolution_n as sh_rest_init. */
void sh_detector_init(struct sh_detector *detector,
                      double rate_hz,
                      double threshold_n,
                      double resolution_n,
                      uint64_t first_frame);

/* Takes the next sample of the force (finite). Cost: some thirty operations. */
enum sh_detector_event
sh_detector_push(struct sh_detector *detector, double force_n, bool is_filled);

/* Net force now, about the last 20 ms, N. */
double sh_detector_get_net_n(const struct sh_detector *detector);

#endif
