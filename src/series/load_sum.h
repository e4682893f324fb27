/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SERIES_LOAD_SUM_H
#define SH_SERIES_LOAD_SUM_H

#include <stddef.h>

#include "base/quantity.h"

/*
 * A sum of quantities of which some may be unknown: then the sum is unknown too, and what is
 * known of it is only a lower bound (the quantities are none below 0 in truth).
 *
 * Uncertainties are added up, not their squares: one calibration stands behind all draws of a
 * day, so their errors go the same way (JCGM 100:2008, 5.2.2 with all correlations 1). That is
 * an upper bound. All zero is an empty sum: 0, known. Any thread.
 * Test of all: tests/series/test_load_sum.c.
 */
struct sh_load_sum {
    double value; /* of what is known */
    double u;
    size_t n_known;
    size_t n_unknown;
    enum sh_why why; /* of the first that is unknown */
};

/* Adds one quantity, or another sum. */
void sh_load_sum_add(struct sh_load_sum *sum, const struct sh_quantity *quantity);
void sh_load_sum_add_sum(struct sh_load_sum *sum, const struct sh_load_sum *other);

/* The sum: unknown, with the first reason, where a part of it is. */
struct sh_quantity sh_load_sum_get(const struct sh_load_sum *sum);

#endif
