/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_METROLOGY_LOAD_DRIFT_H
#define SH_METROLOGY_LOAD_DRIFT_H

#include <stdbool.h>
#include <stddef.h>

#include "base/status.h"
#include "metrology/channel.h"

/*
 * A sensor whose reading goes on moving under a steady load: after a step of force F it shows
 * F (1 + ratio (1 - exp(-t / time))), a spring with a dashpot beside it (the standard linear
 * solid). Found from a record under one steady load, and taken off again while samples come.
 * Test: tests/metrology/test_load_drift.c.
 */

#define SH_LOAD_DRIFT_POINTS_MAX 512u

struct sh_load_drift {
    double ratio;
    double ratio_u;
    double time_s;
    double time_u_s;
    double f;           /* variance ratio against no drift, 2 and n - 3 degrees of freedom */
    double p;           /* its probability by chance */
    bool is_real;       /* p below 0.001 and the ratio beyond 1.96 of its uncertainty */
    double residual_sd; /* in the unit of the values */
};

/*
 * Fits n values (8 to SH_LOAD_DRIFT_POINTS_MAX; means over equal, not overlapping times, so
 * that their noise is nearly independent) at times since the load came on (rising, from 0 on).
 * Least squares: for each time constant, from half the spacing to three times the record's
 * length, a straight line on 1 - exp(-t / time); the best by golden section. SH_ERR_SHORT,
 * SH_ERR_NOT_FINITE, SH_ERR_ARGUMENT (times not rising, too many), SH_ERR_SINGULAR (the value
 * at the load's start is 0).
 */
enum sh_status sh_load_drift_solve(const double *time_s,
                                   const double *value,
                                   size_t n,
                                   struct sh_load_drift *out);

/* What takes the drift off, one channel. Plain state; zero it to begin anew. */
struct sh_load_drift_state {
    double drift; /* in the channel's unit */
};

/*
 * Takes the drift off a value (in the unit, before crosstalk) dt_s after the one before; the
 * value itself where the channel has no load drift. Exact for a force that stands still between
 * samples. Cost: one exponential.
 */
double sh_load_drift_push(struct sh_load_drift_state *state,
                          const struct sh_channel *channel,
                          double value,
                          double dt_s);

#endif
