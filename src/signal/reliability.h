/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SIGNAL_RELIABILITY_H
#define SH_SIGNAL_RELIABILITY_H

#include <stddef.h>

#include "base/status.h"

/*
 * How well a measure repeats: targets (archers, days) measured k times each. No heap, any
 * thread. Tests: tests/signal/test_reliability.c; tests/reference/test_reference_reliability.c.
 */

/* x[n_targets][n_judges], row by row. Borrows. */
struct sh_reliability_table {
    const double *x;
    size_t n_targets; /* 2 or more */
    size_t n_judges;  /* measurements of each target, 2 or more */
};

/* An intraclass correlation with its limits. */
struct sh_reliability_icc {
    double value; /* at most 1; below 0 where targets differ less than measurements */
    double lo;
    double hi;
};

struct sh_reliability {
    /*
     * Forms of Shrout & Fleiss 1979, Psychol Bull 86:420. (1, .): measurements are
     * exchangeable; (2, .): the same judges, sessions or devices for all targets, drawn from
     * many: their level counts; (3, .): just these judges: their level does not count. (., 1):
     * a single measurement; (., k): the mean of the k.
     */
    struct sh_reliability_icc icc_1_1;
    struct sh_reliability_icc icc_2_1;
    struct sh_reliability_icc icc_3_1;
    struct sh_reliability_icc icc_1_k;
    struct sh_reliability_icc icc_2_k;
    struct sh_reliability_icc icc_3_k;
    double mean;
    double sd_targets; /* of the targets' single values: root of all squares over N - 1 */
    /*
     * Standard errors of measurement, unit of x, each of a single measurement. within: root of
     * the mean square within targets (the within-subject SD of Bland & Altman 1996, BMJ
     * 313:744; goes with ICC(1,1)); agreement: judges' levels and the rest (with ICC(2,1));
     * consistency: the rest alone (with ICC(3,1)). None is SD sqrt(1 - ICC), which differs a
     * little.
     */
    double sem_within;
    double sem_agreement;
    double sem_consistency;
    /*
     * The change between two single measurements of one target that measuring alone passes in
     * 1 - level of the cases: z sqrt(2) SEM (Weir 2005, J Strength Cond Res 19:231), z = 1.96
     * at 0.95.
     */
    double change_within;
    double change_agreement;
    double change_consistency;
};

/*
 * All of it. Limits: Shrout & Fleiss 1979, p. 424-425 (those of (2, .) by Satterthwaite's
 * degrees of freedom). level: 0 .. 1, e.g. 0.95, two-sided. SH_ERR_ARGUMENT: level.
 * SH_ERR_SHORT: under 2 targets or judges. SH_ERR_NOT_FINITE. SH_ERR_SINGULAR: targets do not
 * differ, or measurements of a target leave no rest. Cost: O(n_targets n_judges).
 */
enum sh_status sh_reliability_get(const struct sh_reliability_table *table,
                                  double level,
                                  struct sh_reliability *reliability);

#endif
