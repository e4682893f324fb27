/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_MEASURE_CLOCK_TIME_H
#define SH_MEASURE_CLOCK_TIME_H

#include "measure/catalog.h"
#include "measure/scene.h"

/*
 * The shooting clock as the marks tell it. The clock that runs at a time is that of the last
 * "clock" mark up to then, unless a "clock-stop" came after it (of equal times the later in the
 * list wins). It began at t_s - elapsed_s. Shooting is allowed from its beginning on; where a
 * clock-stop lies between beginning and mark (a clock that was halted and goes on), from the
 * mark on. Test: tests/measure/test_clock_time.c.
 */
struct sh_clock_time {
    double began_s;   /* may lie before the recording */
    double allowed_s; /* shooting allowed from here on */
    bool has_length;  /* the mark tells its seconds */
    double length_s;
};

/* Finds the clock that runs at at_s; false, *out untouched: none. Cost: O(n_marks). */
bool sh_clock_time_find(const struct sh_mark *marks,
                        size_t n_marks,
                        double at_s,
                        struct sh_clock_time *out);

/*
 * Fills SETUP_TIME, TIME_LEFT_DRAW and TIME_LEFT_RELEASE. Marks are taken as exact; the
 * uncertainties are those of the events. SH_WHY_NOT_GIVEN: no clock (for the set-up: and no
 * previous release), or a clock without seconds. SH_WHY_NOT_APPLICABLE: a clock was stopped
 * before. A let-down has a set-up and a time left at draw start.
 */
void sh_clock_time_measure(const struct sh_scene *scene, struct sh_measures *measures);

#endif
