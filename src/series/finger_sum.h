/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SERIES_FINGER_SUM_H
#define SH_SERIES_FINGER_SUM_H

#include <stdbool.h>
#include <stddef.h>

#include "base/quantity.h"

/*
 * Whether the fingers' sum keeps to the string's force as it usually does with this archer, tab
 * and sensors: each shot's ratio (measure/finger_sum.h) against the session's, and against that
 * of earlier sessions, which also shows what changed between sessions. Nothing is scaled by it:
 * where a shot disagrees, one of the sensors, or how the hand lay, is not what it was.
 */

#define SH_FINGER_SUM_SHOTS_MIN 9u /* with fewer nothing is usual */

/* What is usual, from all shots of a session whose ratio is known. */
struct sh_finger_sum_usual {
    size_t n;
    double ratio;   /* median */
    double spread;  /* robust standard deviation, 1.4826 MAD */
    double reach_t; /* Student's t for 99 %, of 0.37 (n - 1) degrees of freedom */
};

/*
 * Finds what is usual in ratio[n] (unknown ones are passed over). work: [2 n]. false, usual
 * untouched: under SH_FINGER_SUM_SHOTS_MIN are known, or one is not finite. The degrees of
 * freedom are those of a MAD, whose efficiency is 0.37 (Rousseeuw & Croux 1993, JASA 88:1273).
 * Cost: O(n). Any thread, no heap. Test: tests/series/test_finger_sum.c.
 */
bool sh_finger_sum_find(const struct sh_quantity *ratio,
                        size_t n,
                        double *work,
                        struct sh_finger_sum_usual *usual);

/*
 * True where a ratio lies outside the 99 % limits of one more shot: reach_t times the spread,
 * the median's own uncertainty (1.2533 spread / sqrt n) and the ratio's u together. So about
 * one shot of a hundred disagrees by chance. False where it is unknown.
 */
bool sh_finger_sum_is_apart(const struct sh_finger_sum_usual *usual,
                            const struct sh_quantity *ratio);

#define SH_FINGER_SUM_SESSIONS_MIN 3u /* with fewer their spread is not known */

/* What is usual over earlier sessions. All zero: nothing is known. */
struct sh_finger_sum_past {
    size_t n_sessions;
    double ratio;       /* mean of the sessions' medians */
    double spread;      /* standard deviation of these */
    double shot_spread; /* of shots about their session's median, root mean square */
    double reach_t;     /* Student's t for 99 %, of n_sessions - 1 degrees of freedom */
};

/*
 * Finds what was usual in n earlier sessions. false, past untouched: under
 * SH_FINGER_SUM_SESSIONS_MIN. Cost: O(n). Any thread, no heap.
 */
bool sh_finger_sum_find_past(const struct sh_finger_sum_usual *sessions,
                             size_t n,
                             struct sh_finger_sum_past *past);

/*
 * True where a shot's ratio lies outside the 99 % limits of a shot of one more session: reach_t
 * times the spread between sessions (its mean's uncertainty in it), that of shots and the
 * ratio's u together. Shots of one session go out together where its sensors lie otherwise.
 * False where it is unknown, or where nothing is known of the past.
 */
bool sh_finger_sum_is_apart_from_past(const struct sh_finger_sum_past *past,
                                      const struct sh_quantity *ratio);

#endif
