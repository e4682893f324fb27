/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SIGNAL_HAND_ARM_H
#define SH_SIGNAL_HAND_ARM_H

#include <stddef.h>

#include "base/status.h"
#include "signal/biquad.h"

/*
 * Frequency weighting W_h for vibration that enters the hand (ISO 5349-1:2001, annex A), the
 * weighted acceleration, and the daily exposure. Single shocks are covered by the standard only
 * provisionally: what comes out for a shot is indicative. Any thread, no heap.
 * Tests: tests/signal/test_hand_arm.c; reference: the standard's table of 24 bands.
 */

#define SH_HAND_ARM_RATE_MIN_HZ 2500.0
#define SH_HAND_ARM_RATE_MAX_HZ 200000.0
#define SH_HAND_ARM_DAY_S       28800.0 /* reference duration of A(8), 8 h */
#define SH_HAND_ARM_ACTION_M_S2 2.5     /* daily action value, directive 2002/44/EC */
#define SH_HAND_ARM_LIMIT_M_S2  5.0     /* daily limit value, the same */

/*
 * |H| of the weighting as the standard defines it, in the s-domain: band limits at 10^0.8 and
 * 10^3.1 Hz (second order, Q 1/sqrt 2), transition at 100 / (2 pi) Hz (Q 0.64). f_hz >= 0.
 * Within 0.5 % of the standard's table at all 24 bands.
 */
double sh_hand_arm_get_gain(double f_hz);

/*
 * Designs the weighting as a digital filter of three sections: poles by the exact map
 * exp(s / rate), zeros such that the gain is the analog one at 0 and at two more frequencies.
 * From 3 Hz to the lesser of 0.45 of the rate and 1600 Hz it is within 2.2 % of the analog gain
 * at 2.5 kHz and above, within 1.4 % from 5 kHz on (tests/signal/test_hand_arm.c).
 * SH_ERR_ARGUMENT: rate_hz outside SH_HAND_ARM_RATE_MIN_HZ .. SH_HAND_ARM_RATE_MAX_HZ.
 * Source of the zeros' condition: Vicanek 2016, Matched second order digital filters.
 */
enum sh_status sh_hand_arm_make(double rate_hz, struct sh_biquad_design *out);

/*
 * Weighted root mean square of x[n] (m/s^2, one axis, mean or gravity removed) at rate_hz.
 * The filter starts at rest. Combine axes as the root of the sum of squares.
 * SH_ERR_ARGUMENT: rate. SH_ERR_SHORT: n is 0. SH_ERR_NOT_FINITE. Cost: 15 multiplications a
 * sample.
 */
enum sh_status sh_hand_arm_get_rms(const double *x, size_t n, double rate_hz, double *rms_m_s2);

/*
 * Daily exposure A(8) of n periods: sqrt(sum of a^2 T / 8 h). total_m_s2: vibration total value
 * of each period, exposure_s: how long it was. SH_ERR_NOT_FINITE, SH_ERR_ARGUMENT: one is
 * negative. n = 0 gives 0.
 */
enum sh_status sh_hand_arm_get_exposure(const double *total_m_s2,
                                        const double *exposure_s,
                                        size_t n,
                                        double *a8_m_s2);

#endif
