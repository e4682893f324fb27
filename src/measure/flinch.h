/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_MEASURE_FLINCH_H
#define SH_MEASURE_FLINCH_H

#include "measure/catalog.h"
#include "measure/scene.h"

/*
 * The greatest dip just before the expected clicker that recovers (docs/definitions.md). Fills
 * FLINCH_FORCE and FLINCH_TIME. Where nothing dips the force is 0 and there is no time
 * (SH_WHY_NOT_SEEN).
 *
 * Uncertainty of the force: white noise through the two means, calibration, the two events (the
 * greatest of the dips that tremor makes is not 0: a finding asks for 3 rms). Of the time: how
 * far the dip stays within the white noise of its deepest, as the half-width of a rectangle,
 * half a sample, and the force's clock and delay; its 95 % limits take in every dip that is as
 * deep but for the noise.
 *
 * SH_WHY_TOO_SHORT: full draw later than c - 0.55 s, so that the first means do not fit.
 * SH_WHY_TOO_SLOW: under 17 Hz, where 30 ms is under half a sample. SH_WHY_UNRESOLVED: the
 * force never leaves the hold. Cost: O(samples of the hold). Test: tests/measure/test_flinch.c.
 */
void sh_flinch_measure(const struct sh_scene *scene, struct sh_measures *measures);

#endif
