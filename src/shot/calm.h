/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SHOT_CALM_H
#define SH_SHOT_CALM_H

#include <stddef.h>

#include "base/quantity.h"
#include "shot/shot.h"

/*
 * When the bow is quiet again: docs/definitions.md, "end". Any thread.
 * Test: tests/shot/test_calm.c.
 */
#define SH_CALM_AFTER_S   2.0  /* the end is looked for so long after release or let-down */
#define SH_CALM_RATIO     0.05 /* of a channel's own peak */
#define SH_CALM_GRAVITY_S 0.5  /* moving mean that is taken off an acceleration */
#define SH_CALM_NOISE     5.0 /* a channel's own white noise, this many times, is no excursion */

/* Where to look, times of the recording's clock. */
struct sh_calm_span {
    double before_s; /* the draw begins: before it the noise, from it on the peak is taken */
    double from_s;   /* release or let-down */
    double until_s;  /* at most from_s + SH_CALM_AFTER_S, and before the next draw */
};

/*
 * The last excursion of any force or acceleration channel beyond SH_CALM_RATIO of its own peak
 * (and beyond SH_CALM_NOISE of its noise) in from_s .. until_s; of a force relative to its rest
 * level (channels whose level is unknown are left out), of an acceleration relative to its
 * moving mean. from_s itself where there is none. It ends half a step behind its last sample,
 * of a sensor under 400 Hz, which may average, a quarter.
 * Its 95 % interval: sampling step, clock and delay; the excursions beyond 1.96 noises (and as
 * many uncertainties of the rest level) more and less, not under half of the limit. Where a
 * sample of the stream was clipped the peak was higher and the excursion may have ended at any
 * time since from_s; where the noise is the limit it may last until until_s. SH_WHY_NO_CHANNEL:
 * no force or acceleration. work: [n_work], n_work above the frames of the longest stream (one
 * too long is left out), lent. Cost: O(samples).
 */
struct sh_quantity sh_calm_find(const struct sh_shot_view *view,
                                const struct sh_calm_span *span,
                                double *work,
                                size_t n_work);

#endif
