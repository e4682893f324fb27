/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SERIES_LOAD_AVERAGE_H
#define SH_SERIES_LOAD_AVERAGE_H

#include <stdbool.h>
#include <stddef.h>

#include "base/quantity.h"

/*
 * Exponentially weighted average of a daily load: y = lambda x + (1 - lambda) y_before, with
 * lambda = 2 / (N + 1) for a constant of N days (Williams et al. 2017, Br J Sports Med 51:209).
 * It begins with the first known day's load.
 *
 * A day whose load is unknown stops it: what was carried on that day is not known, and taking
 * it for rest would make the average too low. It begins anew with the next known day; n_days
 * says how many days it rests on since, and until there are N of them its first day still
 * weighs much ((1 - lambda)^N, about an eighth).
 *
 * Uncertainties are averaged with the same weights, as one calibration stands behind the days:
 * an upper bound. Any thread. Test of all: tests/series/test_load_average.c, the recursion
 * against the NIST/SEMATECH e-Handbook 6.3.2.4.
 */
struct sh_load_average {
    double lambda;
    size_t n_constant; /* N, days */
    size_t n_days;     /* since it began, 0: it stands still */
    double value;
    double u;
};

#define SH_LOAD_AVERAGE_SHORT_DAYS 7u
#define SH_LOAD_AVERAGE_LONG_DAYS  28u

/* An average of n_constant days, 1 or more, that has not begun. */
struct sh_load_average sh_load_average_make(size_t n_constant);

/* Takes the next day's load, an unknown one too. */
void sh_load_average_push(struct sh_load_average *average, const struct sh_quantity *load);

/* The average after the days so far; unknown (SH_WHY_NOT_GIVEN) where it stands still. */
struct sh_quantity sh_load_average_get(const struct sh_load_average *average);

/*
 * The short average over the long one. Shown only beside both loads and with what speaks
 * against it (sh_load_average_get_objections): it says nothing good or bad of a training.
 * Unknown where one of them is, or the long one is 0. u: upper bound.
 */
struct sh_quantity sh_load_average_get_ratio(const struct sh_quantity *short_average,
                                             const struct sh_quantity *long_average);

/* What speaks against the ratio, in words for people. Static. */
const char *sh_load_average_get_objections(void);

#endif
