/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SHOT_RELEASE_WATCH_H
#define SH_SHOT_RELEASE_WATCH_H

#include <stdbool.h>
#include <stdint.h>

#include "shot/detector.h"

/*
 * Says at once that a string has probably been released: for a screen that must not wait for
 * the draw's tail. The shot that the segmenter makes of it some seconds later is what counts,
 * and may say something else.
 *
 * It fires SH_RELEASE_WATCH_LOW_FRAMES frames after the force has lost 90 % of its largest of
 * the last half second (which is SH_RELEASE_WATCH_HELD_RATIO of this draw's largest or more),
 * where it went from 90 % to 10 % of that within SH_RELEASE_WATCH_FALL_MAX_S: between the 50 ms
 * of a shot and the 150 ms of a let-down, on the geometric mean. What falls more slowly is
 * never told. Once a draw; lost samples never make it fire.
 *
 * A plain value without heap; one thread at a time; depends on the samples alone, never on how
 * they were cut. Test: tests/shot/test_release_watch.c.
 */
#define SH_RELEASE_WATCH_FALL_MAX_S 0.0866
#define SH_RELEASE_WATCH_LOW_FRAMES 2u /* one alone may be a reading that is nonsense */
#define SH_RELEASE_WATCH_HELD_RATIO 0.6
#define SH_RELEASE_WATCH_BINS       8u /* the last half second, */
#define SH_RELEASE_WATCH_HOLD_LAG_S                                                            \
    0.19 /* the detector's averages see a hold begin so late: median over simulated evenings   \
          */
#define SH_RELEASE_WATCH_TOP_S 0.5 /* by the largest 20 ms mean of each */

struct sh_release_watch {
    struct sh_detector detector;
    double top_n[SH_RELEASE_WATCH_BINS]; /* a ring */
    uint64_t n_bin_frames;
    uint64_t bin_frame;  /* the latest bin began */
    size_t bin;          /* the latest */
    double largest_n;    /* of this draw */
    double high_n;       /* the last sample that was above 90 %, */
    double after_high_n; /* and the one after it */
    uint64_t high_frame;
    unsigned n_low;
    bool has_fired;
    bool has_hold;
    uint64_t hold_frame; /* the hold's first frame, as the live line has it */
};

/* What is told. Times are frames since the first, with a fraction. */
struct sh_release_watch_event {
    double release_frame; /* the force had fallen by 10 % */
    double hold_frame; /* the hold began, as well as the averages tell, their lag taken off */
    bool has_hold;
};

/* As sh_detector_init. */
void sh_release_watch_init(struct sh_release_watch *watch,
                           double rate_hz,
                           double threshold_n,
                           double resolution_n,
                           uint64_t first_frame);

/* Takes the next sample of the force (finite). True where it fires, *out is then set. Cost:
 * some forty operations. */
bool sh_release_watch_push(struct sh_release_watch *watch,
                           double force_n,
                           bool is_filled,
                           struct sh_release_watch_event *out);

#endif
