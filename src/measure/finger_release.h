/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_MEASURE_FINGER_RELEASE_H
#define SH_MEASURE_FINGER_RELEASE_H

#include "measure/catalog.h"
#include "measure/finger_net.h"
#include "measure/scene.h"

/*
 * When each finger let go (docs/definitions.md). Fills FINGER_RELEASE and
 * FINGER_RELEASE_SPREAD.
 *
 * A finger's half-fall is the middle of the step that signal/step_fit.h fits to its force
 * within 0.2 s of the release (means over up to 1 ms where the stream is faster than 1 kHz).
 * Uncertainty and interval are the fit's, with that of the release; the release cancels in the
 * spread. Where the finger lies in another stream than the force, both delays and clocks count
 * too.
 *
 * SH_WHY_NOT_SEEN: the finger does not let go there. SH_WHY_TOO_SHORT: the samples do not reach
 * that far. The spread needs all three fingers: else the first missing one's reason.
 * Cost: about 1 ms a finger at 1 kHz. Test: tests/measure/test_finger_release.c.
 */
void sh_finger_release_measure(const struct sh_scene *scene,
                               const struct sh_finger_net *net,
                               struct sh_measures *measures);

#endif
