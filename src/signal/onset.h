/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SIGNAL_ONSET_H
#define SH_SIGNAL_ONSET_H

#include <stddef.h>

#include "base/status.h"

/*
 * Where in a window of samples something begins. Each picker always answers; gain tells whether
 * the answer means anything. Any thread. Tests: tests/signal/test_onset.c; reference:
 * tests/reference (an earthquake), open data (a muscle).
 */
struct sh_onset {
    double index; /* first sample of what begins; a fraction only from sh_onset_refine */
    double u;     /* standard uncertainty, samples: spread of the likelihood about index, and
                     of the sampling step where index is whole */
    double gain;  /* natural log of the likelihood ratio: change at index against none */
};

/*
 * Change of variance: the k that makes k ln var(x[0..k)) + (n - k - 1) ln var(x[k..n))
 * smallest (Maeda 1985, Zisin 38:365). At least n_edge samples stay on either side. Variances
 * are about each part's own mean and not below 1e-12 of the whole window's (so that a run of
 * equal samples does not win by itself).
 * The spread takes samples as independent: smooth noise makes u too small by about the square
 * root of the samples within one correlation time.
 * x: [n]; work: [n], lent. SH_ERR_ARGUMENT: n_edge under 2. SH_ERR_SHORT: n < 2 n_edge.
 * SH_ERR_NOT_FINITE. SH_ERR_SINGULAR: all samples equal. Cost: O(n), two passes.
 */
enum sh_status
sh_onset_find_aic(const double *x, size_t n, size_t n_edge, double *work, struct sh_onset *out);

/* Scratch of the rank picker, one an input sample. */
struct sh_onset_rank {
    double value;
    double rank;
    size_t index;
};

/*
 * Change of level, by ranks: the k with the largest standardised Mann-Whitney statistic
 * between x[0..k) and x[k..n) (Pettitt 1979, Appl Stat 28:126, standardised so that a change
 * near an end is not drawn to the middle; ties share their mean rank). Outliers, and any
 * monotone bending of the scale, leave it as it is. Give |x| to find a change of size instead.
 * gain is z^2 / 2. Statuses and n_edge as above (n_edge at least 1); work: [n], lent.
 * Cost: O(n log n), no heap.
 */
enum sh_status sh_onset_find_rank(
    const double *x, size_t n, size_t n_edge, struct sh_onset_rank *work, struct sh_onset *out);

/* The span that sh_onset_refine looks at. */
struct sh_onset_window {
    const double *x; /* [n] */
    size_t n;
    size_t n_before; /* samples before the pick that show the level from which it starts */
    size_t n_after;  /* samples from the pick on over which the start is still straight */
};

/*
 * Refines a pick to a fraction of a sample: a level up to t0 and a straight line from there on,
 * fitted by least squares to x[i - n_before .. i + n_after), t0 within 2 samples of i.
 * index is the mean of the likelihood over t0, u its standard deviation, the noise being the
 * residual of the best fit. gain is against the level alone.
 * SH_ERR_ARGUMENT: n_before under 3 or n_after under 3. SH_ERR_SHORT: the span leaves the
 * window. SH_ERR_NOT_FINITE. SH_ERR_SINGULAR: no change in the span.
 * Cost: O(200 (n_before + n_after)).
 */
enum sh_status
sh_onset_refine(const struct sh_onset_window *window, size_t i, struct sh_onset *out);

#endif
