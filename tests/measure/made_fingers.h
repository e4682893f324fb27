/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_TESTS_MEASURE_MADE_FINGERS_H
#define SH_TESTS_MEASURE_MADE_FINGERS_H

#include "measure/made.h"

/*
 * Fingers of a shot made by hand: a tenth of the force as preload from 2.5 s on, a straight
 * draw from 4 to 5 s, a level hold, and each finger letting go at its own time, to 0 along half
 * a cosine. The ring finger may slide: its share falls along a straight line and the index
 * takes it over.
 */
#define MADE_PRELOAD_S 2.5

struct made_fingers {
    double hold_n[3];
    double half_fall_s[3];
    double fall_s;     /* length of each fall */
    double slide_n;    /* lost by the ring finger, won by the index */
    double slide_s[2]; /* from, until */
};

/* Net force of finger k (0 index, 1 middle, 2 ring). context: struct made_fingers. */
double made_fingers_get(const void *context, double t_s, size_t k);

/* A shot with these fingers alone, 2.5 N at rest under each. To be closed by made_close. */
void made_fingers_open(struct made *made, const struct made_fingers *fingers, double rate_hz);

/* 60, 70, 50 N, all at the release, in 4 ms, no slide. */
struct made_fingers made_fingers_default(void);

#endif
