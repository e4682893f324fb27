/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SIGNAL_BOOTSTRAP_H
#define SH_SIGNAL_BOOTSTRAP_H

#include <stddef.h>

#include "base/status.h"
#include "signal/random.h"

/*
 * Intervals of a statistic by the bias-corrected and accelerated bootstrap (Efron 1987, J Am
 * Stat Assoc 82:171). What is drawn are units: single rows, or clusters of rows that belong
 * together (the arrows of an end). No heap. Test: tests/signal/test_bootstrap.c.
 */

#define SH_BOOTSTRAP_DRAWS_MIN 200

/*
 * The statistic of the rows row[n] (some more than once, some not at all; n may differ from
 * draw to draw where clusters do). Anything but SH_OK ends the bootstrap and comes back from
 * it.
 */
typedef enum sh_status
sh_bootstrap_statistic(void *context, const size_t *row, size_t n, double *value);

struct sh_bootstrap_config {
    sh_bootstrap_statistic *statistic;
    void *context; /* handed on to statistic */
    size_t n_units;
    /* [n_units + 1], rising: unit i is rows first[i] .. first[i + 1] - 1; NULL: unit = row */
    const size_t *first;
    size_t n_draws;           /* SH_BOOTSTRAP_DRAWS_MIN or more; 2000 for 95 % */
    double level;             /* 0 .. 1, e.g. 0.95 */
    struct sh_random *random; /* moved on */
};

/* Workspace of the caller. */
struct sh_bootstrap_work {
    size_t *row;   /* [n_units times the rows of the largest unit] */
    double *draw;  /* [n_draws]; holds the sorted replicates afterwards */
    double *spare; /* [n_units] */
};

struct sh_bootstrap {
    double value; /* of all rows as they are */
    double lo;
    double hi;
    double sd;   /* of the replicates: the standard error */
    double bias; /* z0, normal quantile of the share of replicates below value */
    double acceleration;
};

/*
 * SH_ERR_ARGUMENT: a setting, or first does not rise. SH_ERR_SHORT: fewer than 3 units.
 * SH_ERR_NOT_FINITE: a statistic. SH_ERR_SINGULAR: all replicates lie on one side of the value.
 * With replicates all alike lo = hi = value. Ties with the value
 * (to a relative 1e-12) count half.
 * Cost: n_draws + n_units + 1 calls of statistic. Threads: any, each with its own random.
 */
enum sh_status sh_bootstrap_find_interval(const struct sh_bootstrap_config *config,
                                          const struct sh_bootstrap_work *work,
                                          struct sh_bootstrap *interval);

#endif
