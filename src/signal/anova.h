/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SIGNAL_ANOVA_H
#define SH_SIGNAL_ANOVA_H

#include <stdbool.h>
#include <stddef.h>

#include "base/status.h"

/*
 * Analysis of variance of groups that differ in one respect (arrows in ends, ends in sessions).
 * No heap, any thread. Tests: tests/signal/test_anova.c; tests/reference/test_reference_sets.c.
 */

/* Values in groups. Borrows all arrays. */
struct sh_anova_groups {
    const double *x; /* group by group */
    /* [n_groups + 1], rising: group i is x[first[i]] .. x[first[i + 1] - 1] */
    const size_t *first;
    size_t n_groups;
};

/* Squares in the squared unit of x. */
struct sh_anova {
    double mean;            /* of all values */
    double between_squares; /* sum of squares of the groups' means about the mean */
    double within_squares;  /* sum of squares about the groups' means */
    size_t between_freedom;
    size_t within_freedom;
    double within_sd;  /* root of the mean square within groups */
    double f;          /* mean square between over mean square within */
    double p;          /* chance of a larger f where all groups are alike */
    double r_squared;  /* share of the squares that lies between */
    double group_size; /* n0, what a group's size counts as: their number where all are alike */
    double between_variance; /* component of the groups, never below 0 */
    /* the component came out below 0: the groups' means lie nearer than chance puts them */
    bool is_cut;
};

/*
 * One-way analysis of variance, with the component of variance between groups
 * (MS_b - MS_w) / n0, n0 = (N - sum n_i^2 / N) / (k - 1) (Snedecor & Cochran 1989, 13.6).
 * Values are taken off the first one before they are summed, and sums of squares are corrected
 * for rounding (Chan, Golub & LeVeque 1983). SH_ERR_ARGUMENT: first does not rise.
 * SH_ERR_SHORT: fewer than 2 groups, or no group has 2 values. SH_ERR_NOT_FINITE: a value, or a
 * sum. SH_ERR_SINGULAR: nothing scatters within groups. Cost: O(N).
 */
enum sh_status sh_anova_get(const struct sh_anova_groups *groups, struct sh_anova *anova);

#endif
