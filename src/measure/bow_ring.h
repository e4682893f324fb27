/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_MEASURE_BOW_RING_H
#define SH_MEASURE_BOW_RING_H

#include "measure/catalog.h"
#include "measure/scene.h"

/*
 * The bow after the release (docs/definitions.md). Fills RING, RING_DAMPING, VIBRATION_PEAK,
 * HAND_VIBRATION and vibration_clipped. The axes are the acceleration channels of the stream in
 * which the first one is found; its delay is taken for all.
 *
 * - Gravity is each axis's mean over the 0.5 s that end 50 ms before the release.
 * - Peak: over the axes there are, between the samples too (signal/band_limited.h).
 *   Uncertainty: calibration, stated noise, a fifth of what lies above the largest sample, and
 *   2.5 % for what a blow has beyond half the rate (both as simulated blows of 500 to 900 Hz at
 *   3.2 kHz show). Where a channel reached its range the largest sample stays, as the lower
 *   bound that vibration_clipped says it is.
 * - Ring: its frequency by the recording's clock, whose rate counts in its uncertainty; matrix
 *   pencil (signal/ringing.h) over 0.25 s, or 96 samples where that is longer,
 *   from 20 ms after the shock on, each axis by itself; the mode with the largest amplitude
 *   there, from SH_BOW_RING_LOW_HZ on (below lies the swing of the bow) and not growing. Below
 *   SH_BOW_RING_RATE_MIN_HZ: SH_WHY_TOO_SLOW. No mode: SH_WHY_NOT_SEEN. Clipped after the
 *   shock: SH_WHY_CLIPPED.
 * - Hand vibration: 1 s from the release, weighted by W_h; uncertainty: calibration and the
 *   0.31 % between the gain and the standard's table, rectangular. All three axes are needed
 *   (SH_WHY_NO_CHANNEL), since a sum over fewer would be too small to judge an exposure by.
 * SH_WHY_TOO_SLOW: under 2.5 kHz. SH_WHY_CLIPPED. Indicative: ISO 5349-1 covers single shocks
 * only provisionally.
 *
 * Cost: 4 ms an axis for the pencil at 4 kHz, 0.5 ms at 1 kHz. Test:
 * tests/measure/test_bow_ring.c.
 */
void sh_bow_ring_measure(const struct sh_scene *scene, struct sh_measures *measures);

#define SH_BOW_RING_LOW_HZ      10.0
#define SH_BOW_RING_RATE_MIN_HZ 200.0

#endif
