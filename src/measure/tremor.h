/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_MEASURE_TREMOR_H
#define SH_MEASURE_TREMOR_H

#include "measure/catalog.h"
#include "measure/scene.h"

/*
 * Tremor of the force and of the bow (docs/definitions.md): a window at 200 Hz or the stream's
 * own lower rate, straight line removed, multitaper spectrum (NW 3, K 5, padded to 16384).
 * The sensor's white noise is taken off the powers. Uncertainties: of an rms, what that noise
 * leaves, calibration, and what a sensor's own averaging over its period may have lost (the
 * limits are those of the power, so that a small rms has an interval of its own); of the peak,
 * the spectrum's smoothing (0.6 to 1.4 Hz for holds of 2 to 4 s), which is how well so short a
 * hold shows a tremor's frequency, not how well the highest point itself is known. steady_rms_n
 * and the thirds stand for a steady tremor: theirs is how well so short a piece shows it
 * (signal/psd.h).
 *
 * SH_WHY_TOO_SHORT: under 1 s from full draw + 0.25 s to 50 ms before c. SH_WHY_TOO_SLOW: under
 * SH_TREMOR_RATE_MIN_HZ. A peak not above four times the sensor's white noise: SH_WHY_NOT_SEEN.
 * The bow's axes that lie in one stream with the first are added; where there are fewer than
 * three, what the others would show is missing. Its noise is known only where it was stated.
 * Cost: a transform of 16384 for each of 5 tapers, 4 windows of the force, 1 of each axis.
 * Test: tests/measure/test_tremor.c.
 */

/* TREMOR_RMS's window: from so long after full draw to so long before c, at least so long. */
#define SH_TREMOR_AFTER_FULL_DRAW_S 0.25
#define SH_TREMOR_BEFORE_C_S        0.05
#define SH_TREMOR_SPAN_MIN_S        1.0
#define SH_TREMOR_RATE_MIN_HZ       62.5 /* 25 Hz at 0.4 of the rate: what folds back stays above */

/*
 * Fills TREMOR_*, BOW_TREMOR_* and, of the force over 2 to 25 Hz, steady_rms_n (at least 0.5 s
 * long), tremor_first_third_n and tremor_last_third_n (thirds of TREMOR_RMS's window, so that
 * neither the end of the draw nor the release lies in them).
 */
void sh_tremor_measure(const struct sh_scene *scene, struct sh_measures *measures);

/* A window of one channel, whose spectrum is wanted. */
struct sh_tremor_window {
    size_t stream;       /* of the view */
    const double *value; /* all frames of the stream */
    double delay_s;
    double from_s;
    double until_s;
};

/*
 * Finds TREMOR_RMS's window of the force. SH_WHY_KNOWN, or the reason: no force, an event
 * unknown, too short.
 */
enum sh_why sh_tremor_find_window(const struct sh_scene *scene,
                                  struct sh_tremor_window *window);

/*
 * Its spectrum; the array is the workspace's multitaper's and lasts until the next run.
 * SH_WHY_KNOWN or the reason. Uses scratch[0].
 */
enum sh_why sh_tremor_run(const struct sh_scene *scene,
                          const struct sh_tremor_window *window,
                          struct sh_psd *psd);

#endif
