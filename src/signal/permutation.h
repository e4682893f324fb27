/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SIGNAL_PERMUTATION_H
#define SH_SIGNAL_PERMUTATION_H

#include <stdbool.h>
#include <stddef.h>

#include "base/status.h"
#include "signal/random.h"

/*
 * Permutation tests of a difference of means. What is permuted are whole blocks: values that
 * belong together (the arrows of a session, or of an end) keep together, since values of one
 * block are alike and permuting them one by one finds differences where none are. Where every
 * arrangement can be tried the answer is exact; else arrangements are drawn.
 * No heap. Threads: any, each with its own random. Test: tests/signal/test_permutation.c.
 */

/* Settings and data. Borrows all arrays. */
struct sh_permutation_config {
    const double *x; /* block by block */
    /* [n_blocks + 1], rising: block i is x[first[i]] .. x[first[i + 1] - 1]; NULL: block =
     * value */
    const size_t *first;
    size_t n_blocks;
    /* [n_blocks]: this block is of the second kind; NULL for the sign test */
    const bool *is_second;
    /*
     * [n_strata + 1], rising from 0 to n_blocks: kinds change places only within a stratum (the
     * ends of one session, say); NULL: anywhere
     */
    const size_t *stratum;
    size_t n_strata;
    size_t n_exact;           /* up to so many arrangements all are tried */
    size_t n_draws;           /* drawn where there are more; at least 1 */
    struct sh_random *random; /* moved on where arrangements are drawn; NULL: never drawn */
};

/* Workspace of the caller: [n_blocks] each. */
struct sh_permutation_work {
    double *sum;   /* of each block's values */
    size_t *count; /* of each block's values */
    size_t *order;
    bool *is_second;
};

struct sh_permutation {
    double difference; /* mean of the second kind less mean of the first; or the mean */
    double p;          /* two-sided: |difference| this large or larger, itself counted */
    double p_u;        /* standard error of p from drawing; 0 where exact */
    /* the smallest p these blocks can give; where drawn, the smallest the draws can */
    double p_least;
    bool is_exact;
    double n_arrangements; /* there are; a rounded figure where large */
    size_t n_tried;
};

/*
 * Two kinds of blocks: how often is the difference of means as large if kinds are handed out
 * afresh, so many in each stratum as there were (Edgington & Onghena 2007, Randomization
 * Tests)? What differs by 1e-12 of the values' mean size counts as alike. Drawn: p = (1 + hits)
 * / (1 + n_draws) (Phipson & Smyth 2010, eq. 1), so that p is never 0. SH_ERR_ARGUMENT:
 * is_second NULL, n_draws 0, first or stratum not rising, strata that do not span the blocks,
 * or random NULL where arrangements would have to be drawn. SH_ERR_SHORT: not both kinds are
 * there. SH_ERR_SINGULAR: no stratum holds both kinds: nothing can change places.
 * SH_ERR_NOT_FINITE. Cost: n_blocks an arrangement.
 */
enum sh_status sh_permutation_test_kinds(const struct sh_permutation_config *config,
                                         const struct sh_permutation_work *work,
                                         struct sh_permutation *result);

/*
 * Paired differences x: how often is |mean| as large if the sign of each block is drawn afresh
 * (Fisher 1935, The Design of Experiments, sec. 21)? is_second and stratum are not looked at.
 * Statuses as above (SH_ERR_SHORT: no block).
 */
enum sh_status sh_permutation_test_signs(const struct sh_permutation_config *config,
                                         const struct sh_permutation_work *work,
                                         struct sh_permutation *result);

#endif
