/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_MEASURE_FINGER_SHARE_H
#define SH_MEASURE_FINGER_SHARE_H

#include "measure/catalog.h"
#include "measure/finger_net.h"
#include "measure/scene.h"

/*
 * How the fingers share the force over the hold (docs/definitions.md). Fills FINGER_SHARE,
 * FINGER_SHARE_CHANGE and FINGER_SLIDE. A share in a window is the median of its samples'
 * shares. All three fingers are needed, in one stream (else SH_WHY_UNRESOLVED).
 *
 * Uncertainties: each finger's calibration (by itself, and the same in both windows of a
 * change), rest level, noise, and what its load drift may have left (measure/finger_net.h),
 * which grows between the windows.
 *
 * The slide: where the ring finger's share fell by SH_FINGER_SLIDE_FALL or more (its change),
 * the corner of a level and a falling line fitted by least squares to its 50 ms means, up to
 * where nine tenths of the fall are reached, with limits that reach back for a fall that begins
 * softly (measure/finger_slide.h). Else SH_WHY_NOT_SEEN.
 *
 * SH_WHY_TOO_SHORT: hold under 0.5 s (change, slide). SH_WHY_UNRESOLVED: the summed force comes
 * under 1 N in the hold. Cost: O(samples of the hold), slide O((hold / 50 ms)^2).
 * Test: tests/measure/test_finger_share.c.
 */
void sh_finger_share_measure(const struct sh_scene *scene,
                             const struct sh_finger_net *net,
                             struct sh_measures *measures);

#define SH_FINGER_SLIDE_FALL 0.06

#endif
