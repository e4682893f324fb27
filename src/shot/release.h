/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SHOT_RELEASE_H
#define SH_SHOT_RELEASE_H

#include <stddef.h>

#include "base/quantity.h"
#include "shot/fall.h"
#include "shot/pull.h"

/*
 * When the string left, or was let down: docs/definitions.md, "Events". All instants are in
 * frames of the force, with their fraction. Any thread. Test: tests/shot/test_release.c.
 */

/* The force of the window at its full rate. */
struct sh_release_force {
    const double *net_n; /* [n_frames] */
    size_t n_frames;
    double rate_hz;
    double noise_n; /* white, per sample; 0: none known */
};

struct sh_release {
    struct sh_quantity release; /* 10 % of the drop has gone */
    struct sh_quantity drop_n;
};

/*
 * The release of a shot by fitting the drop (signal/step_fit.h), sub-sample and honest at 80 Hz
 * too (where the sensor may average over its sampling step, or not); the hold before it may
 * slope. The samples behind the drop count only as far as the
 * string's ringing leaves the level alone. Where the fit fails, the line between the samples
 * on either side of the 10 % and its whole step as interval. SH_WHY_TOO_SHORT: under 8 samples
 * around the fall. Cost: that of the fit, some ms.
 */
void sh_release_find(const struct sh_release_force *force,
                     const struct sh_pull *pull,
                     const struct sh_fall *fall,
                     struct sh_release *out);

/*
 * The let-down of the draw in the averages first .. fall->end: the last time its 20 ms mean
 * came below 90 % of the largest. SH_WHY_NOT_SEEN: it never did. Cost: O(n).
 */
struct sh_quantity
sh_release_find_let_down(const struct sh_pull *pull, size_t first, const struct sh_fall *fall);

#endif
