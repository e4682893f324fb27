/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SIGNAL_HAND_ARM_H
#define SH_SIGNAL_HAND_ARM_H

#include <stddef.h>

#include "base/status.h"

/*
 * Frequency weighting W_h for vibration that enters the hand (ISO 5349-1:2001, annex A), the
 * weighted acceleration, and the daily exposure. Single shocks are covered by the standard only
 * provisionally: what comes out for a shot is indicative.
 * Tests: tests/signal/test_hand_arm.c; reference: the standard's table of 24 bands.
 */

#define SH_HAND_ARM_RATE_MIN_HZ 2500.0
#define SH_HAND_ARM_RATE_MAX_HZ 200000.0
#define SH_HAND_ARM_DAY_S       28800.0 /* reference duration of A(8), 8 h */
#define SH_HAND_ARM_SHOT_S      1.0     /* what a shot's rms stands for */
#define SH_HAND_ARM_ACTION_M_S2 2.5     /* daily action value, directive 2002/44/EC */
#define SH_HAND_ARM_LIMIT_M_S2  5.0     /* daily limit value, the same */

/*
 * |H| of the weighting as the standard defines it, in the s-domain: band limits at 10^0.8 and
 * 10^3.1 Hz (second order, Q 1/sqrt 2), transition at 100 / (2 pi) Hz (Q 0.64). f_hz >= 0.
 * Within 0.5 % of the standard's table at all 24 bands. Any thread.
 */
double sh_hand_arm_get_gain(double f_hz);

/* What weighting windows of up to so many samples needs; one thread at a time. */
struct sh_hand_arm;

/*
 * Opens it for windows of up to n_max samples, 1 to SH_FFT_LENGTH_MAX / 4: about 130 bytes a
 * sample. Gives *out, to be closed. SH_ERR_ARGUMENT, SH_ERR_MEMORY with a line in err.
 */
enum sh_status sh_hand_arm_open(size_t n_max, struct sh_hand_arm **out, struct sh_error *err);

/* Closes and sets *hand_arm to NULL; takes NULL and a pointer to NULL. */
void sh_hand_arm_close(struct sh_hand_arm **hand_arm);

/*
 * Weighted root mean square of x[n] (m/s^2, one axis, mean or gravity removed) at rate_hz: the
 * window's spectrum times the analog response, brought back to time and summed over the window,
 * which it is taken to come into at rest. A quarter of the window or more of silence behind it
 * keeps what is answered later from its beginning. No filter is approximated: the weighting is
 * the standard's up to half the rate, and what a slower sensor does not show beyond is missing.
 * Combine axes as the root of the sum of squares.
 * SH_ERR_ARGUMENT: rate_hz outside SH_HAND_ARM_RATE_MIN_HZ
 * .. SH_HAND_ARM_RATE_MAX_HZ, n over n_max. SH_ERR_SHORT: n is 0. SH_ERR_NOT_FINITE. Cost: two
 * transforms. No heap.
 */
enum sh_status sh_hand_arm_get_rms(
    struct sh_hand_arm *hand_arm, const double *x, size_t n, double rate_hz, double *rms_m_s2);

/*
 * Daily exposure A(8) of n periods: sqrt(sum of a^2 T / 8 h) (ISO 5349-1:2001, 5.2).
 * total_m_s2: vibration total value of each period, exposure_s: how long it was.
 * SH_ERR_NOT_FINITE, SH_ERR_ARGUMENT: one is negative. n = 0 gives 0. Any thread.
 */
enum sh_status sh_hand_arm_get_exposure(const double *total_m_s2,
                                        const double *exposure_s,
                                        size_t n,
                                        double *a8_m_s2);

/*
 * The same of a day's n_shots shots, each of SH_HAND_ARM_SHOT_S, whose vibration total values
 * have the root mean square shot_m_s2: shot_m_s2 sqrt(n_shots s / 8 h). Indicative, as the
 * shots' values are. SH_ERR_NOT_FINITE; SH_ERR_ARGUMENT: one is negative. Any thread.
 */
enum sh_status
sh_hand_arm_get_shots_exposure(double shot_m_s2, double n_shots, double *a8_m_s2);

#endif
