/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SERIES_CONSISTENCY_H
#define SH_SERIES_CONSISTENCY_H

#include <stdint.h>

#include "series/consistency_set.h"
#include "signal/anova.h"
#include "signal/control_chart.h"
#include "signal/run_rules.h"

/*
 * How far one measure stays the same: size and spread, spread within and between ends, and the
 * arrows that a control chart marks. Test of all: tests/series/test_consistency.c.
 */

/* Fewer ends than this give figures without intervals: what is drawn afresh are ends, since the
 * arrows of an end are alike. */
#define SH_CONSISTENCY_ENDS_MIN 5u
#define SH_CONSISTENCY_LEVEL    0.95

/* Level of the clock's slope: with some ten ends, intervals that aim at 99 % hold some 95 %
 * (tests/series/test_consistency.c measures it). */
#define SH_CONSISTENCY_SLOPE_LEVEL 0.99

/* A figure, and its 95 % interval where the ends allow one. */
struct sh_consistency_figure {
    bool is_known;
    bool has_interval;
    double value;
    double lo;
    double hi;
};

struct sh_consistency_config {
    uint64_t seed;  /* of the bootstrap's draws, to be printed beside the intervals */
    size_t n_draws; /* SH_BOOTSTRAP_DRAWS_MIN or more */
    unsigned rules; /* of the chart: bits of signal/run_rules.h */
};

/* Seed 1, 2000 draws, SH_RUN_RULES_DEFAULT. */
struct sh_consistency_config sh_consistency_config_default(void);

struct sh_consistency {
    struct sh_consistency_column column; /* owned */
    struct sh_consistency_figure mean;
    struct sh_consistency_figure sd;
    struct sh_consistency_figure cv_ratio; /* sd / mean */
    double measured_u; /* root mean square of the values' own uncertainties: part of the sd */
    bool has_parts;
    struct sh_anova parts; /* within and between ends */
    bool has_chart;
    struct sh_control_chart chart; /* of the logarithm where the kind is_log */
    unsigned *marks;               /* owned, [column.n]: rules that each value completes */
};

/*
 * Works it out for the shots that show the measure; what too few of them, or no scatter, does
 * not allow is left unknown. Intervals by the BCa bootstrap over whole ends (Efron 1987), the
 * random numbers begun anew from the seed for each figure. The chart goes through all
 * recordings in their order; of a kind that is_log a value that is not above 0 leaves it
 * without a chart. result is to be closed whatever comes back. SH_ERR_MEMORY; SH_ERR_ARGUMENT:
 * a setting. Cost: some 3 n_draws n.
 */
enum sh_status sh_consistency_get(const struct sh_consistency_set *set,
                                  enum sh_consistency_measure measure,
                                  const struct sh_consistency_config *config,
                                  struct sh_consistency *result);

/* Frees what it owns and zeroes it. Takes a zeroed one. */
void sh_consistency_close(struct sh_consistency *result);

/*
 * Slope of a measure on the clock's time left at the draw start, in its unit a second, arrows
 * of the same number in their ends about their own means: else the number of the arrow would
 * pass for the clock. The interval is of SH_CONSISTENCY_SLOPE_LEVEL. Unknown where fewer than 3
 * clocked arrows, or no spread of times. Statuses and cost as above.
 */
enum sh_status sh_consistency_get_clock_slope(const struct sh_consistency_set *set,
                                              enum sh_consistency_measure measure,
                                              const struct sh_consistency_config *config,
                                              struct sh_consistency_figure *slope);

#endif
