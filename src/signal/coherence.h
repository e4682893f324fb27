/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SIGNAL_COHERENCE_H
#define SH_SIGNAL_COHERENCE_H

#include <stddef.h>

#include "base/status.h"
#include "signal/welch.h"

/*
 * How much of a magnitude-squared coherence (sh_welch_get_coherence) is chance, and between
 * which limits the true one lies. No heap, any thread. Test: tests/signal/test_coherence.c.
 */

/*
 * Number of independent segments that n_segments overlapping ones are worth, by the correlation
 * of the periodic Hann window with itself at multiples of the step (Welch 1967, IEEE Trans
 * Audio 15:70). 1 where n_segments is 1; 0 where it is 0 or the configuration is out of range.
 */
double sh_coherence_get_segments(const struct sh_welch_config *config, size_t n_segments);

/*
 * The coherence of two unrelated Gaussian signals that one bin passes with probability p:
 * 1 - p^(1 / (segments - 1)) (Goodman 1957; Carter 1987, Proc IEEE 75:236). p: 0 .. 1, for a
 * range of bins divided by their number. SH_ERR_ARGUMENT: p. SH_ERR_SHORT: segments not
 * above 1.
 */
enum sh_status sh_coherence_get_threshold(double segments, double p, double *threshold);

/*
 * Limits of the true coherence of a bin at a level, 0 .. 1, through atanh of its root, which is
 * near normal with variance 1 / (2 segments - 2) and mean 1 / (2 segments - 2) too high
 * (Enochson & Goodman 1965; Bendat & Piersol 2010, Random Data, 9.2.3). For coherences of 0.3
 * or more and some 10 segments; where chance alone explains the value the lower limit is 0.
 * SH_ERR_ARGUMENT: level, or coherence outside 0 .. 1. SH_ERR_SHORT: segments not above 2.
 */
enum sh_status sh_coherence_get_limits(
    double coherence, double segments, double level, double *lo, double *hi);

#endif
