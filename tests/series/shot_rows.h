/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_TESTS_SERIES_SHOT_ROWS_H
#define SH_TESTS_SERIES_SHOT_ROWS_H

#include "series/consistency_set.h"
#include "signal/random.h"

/* Sets of shots made by hand or by chance, without a recording behind them. */

/* Appends a shot: end and recording from 0, number from 1; value in every measure. Fails the
 * running test where memory is short. */
struct sh_consistency_row *shot_rows_add(struct sh_consistency_set *set,
                                         size_t recording,
                                         size_t end,
                                         unsigned number,
                                         double value);

/* A steady archer, or one to whom something happens. */
struct shot_rows_archer {
    size_t n_ends;
    unsigned n_arrows;
    double end_sd;     /* of the logarithm, between ends */
    double arrow_sd;   /* of the logarithm, within an end */
    double per_number; /* s, from arrow to arrow of an end */
    double per_end;    /* s, from end to end */
    double clock_s;    /* added under the clock */
    bool is_blocked;   /* the second half under the clock; else every other end */
};

/* A session of holds about 3 s, lognormal, appended as a recording of its own. */
void shot_rows_shoot(struct sh_consistency_set *set,
                     const struct shot_rows_archer *archer,
                     struct sh_random *random);

#endif
