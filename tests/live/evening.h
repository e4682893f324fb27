/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_TESTS_LIVE_EVENING_H
#define SH_TESTS_LIVE_EVENING_H

#include "finding/finding.h"
#include "recording/scratch.h"

/*
 * A recording of 40 s on disk with one draw whose every value is known: string force and three
 * fingers at 1000 Hz, the bow's acceleration at 3200 Hz. Rest at 2 N (string) and 1 N (finger)
 * to 20 s; 180 N from 21.2 s; falls from 180 to 177 N between 22.5 and 23 s and stays there;
 * clicker at 25 s, released at 25.14 s. 100 frames are lost from frame 24,500 on. The ring
 * finger's share falls from 0.3 to 0.2 at 24 s. The bow rings with 120 Hz from the release.
 */

#define EVENING_FRAMES     40000u
#define EVENING_BOW_FRAMES 128000u
#define EVENING_RING_HZ    120.0

/* What the sensor shows: the string's, or a finger's (1 to 3), rest included; the bow's. */
double evening_get_force_n(double time_s);
double evening_get_finger_n(double time_s, int finger);
double evening_get_bow_m_s2(double time_s);

/* Makes the recording in a scratch folder that is open. */
void evening_make(const struct scratch *scratch);

/* The draw as an analysis would give it: events, some measures, creep and slide findings. */
struct sh_shot_record evening_get_record(void);

#endif
