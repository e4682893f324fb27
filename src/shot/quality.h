/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SHOT_QUALITY_H
#define SH_SHOT_QUALITY_H

#include <stddef.h>

#include "shot/shot.h"

/*
 * What is wrong with the samples of a shot: lost, at the end of the range, noisy, dead. Any
 * thread; the memory of usual noise belongs to one session. Test: tests/shot/test_quality.c.
 */
#define SH_QUALITY_NOISE_RATIO 5.0 /* over the stated or usual noise: noisy */
#define SH_QUALITY_USUAL_MIN   5u  /* shots before there is a usual noise */
#define SH_QUALITY_USUAL_MAX                                                                   \
    32u /* the latest ones count; when full, the oldest is left out                            \
         */

struct sh_quality {
    size_t n_seen;
    double noise_n[SH_QUALITY_USUAL_MAX]; /* ring, by n_seen */
};

/* No shots yet. */
void sh_quality_init(struct sh_quality *quality);

/*
 * Sets has_gap, is_clipped, has_dead_channel from the samples of all streams in
 * from_s .. until_s (a shot's draw start to its end), and is_noisy from shot->rest_noise_n
 * against the noise stated for the force, or else the median of the shots before; then
 * remembers this shot's. A channel is dead where it does not change at all while the force, or
 * another channel of acceleration, does; contacts are never dead. Cost: O(samples).
 */
void sh_quality_judge(struct sh_quality *quality,
                      const struct sh_shot_view *view,
                      double from_s,
                      double until_s,
                      struct sh_shot *shot);

#endif
