/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SHOT_FORCE_SCALE_H
#define SH_SHOT_FORCE_SCALE_H

#include <stdbool.h>

#include "shot/shot.h"

/*
 * How sure the scale of a view's force is. Any thread. Test: tests/shot/test_force_scale.c.
 */

/* The fingers do not pull one way: the sum of their forces is 4 to 7 % above the string's. */
#define SH_FORCE_SCALE_FINGERS_RATIO   0.055
#define SH_FORCE_SCALE_FINGERS_U_RATIO 0.0087 /* 0.015 / sqrt 3 */

/*
 * Relative standard uncertainty, from calibration alone, of a net force of value_n[i] (rest
 * levels rest_n[i]) in the view's i-th force channel, all together. The sum of the fingers'
 * forces stands for the string's without being corrected; the whole difference counts.
 * value_n, rest_n: [view->force.n_channels]. 0 where the net force is 0. Cost: O(channels).
 */
double sh_force_scale_get_u_ratio(const struct sh_shot_view *view,
                                  const double *value_n,
                                  const double *rest_n);

/* What one count is worth in a channel, N; 0 where it cannot be told. */
double sh_force_scale_get_resolution_n(const struct sh_channel *channel);

/*
 * True where a sample of a force channel is at the end of its range that stands for more force:
 * how much more there was is not known. A sensor that shows nothing at rest is at the other.
 */
bool sh_force_scale_is_full(const struct sh_channel *channel, double raw);

#endif
