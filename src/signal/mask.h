/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SIGNAL_MASK_H
#define SH_SIGNAL_MASK_H

#include <stdbool.h>
#include <stddef.h>

/*
 * Samples of which some are absent: present[n], or NULL where all are there. How this stage
 * goes about gaps: what works on lists of points or values (line_fit, theil_sen, huber,
 * broken_stick, rank, stats) is given those that are there, by sh_mask_compact; what needs even
 * sampling (biquad, savgol, gauss, moving, envelope, ringing, onset) is given one whole stretch
 * after the other, by sh_mask_find_stretch; spectra go round gaps (multitaper's tapers are made
 * anew on the samples present, welch leaves segments out); detrend and run_rules take the mask.
 * Nothing is filled in. Any thread, no heap. Test: tests/signal/test_mask.c.
 */

/*
 * Copies the samples of x[n] that are present, in order, into kept (as long; may be x itself);
 * how many there are. Cost: O(n).
 */
size_t sh_mask_compact(const double *x, const bool *present, size_t n, double *kept);

/*
 * The next stretch without a gap from sample from on: its first sample into *first, its length
 * as the answer; 0 where no sample from there on is present. Cost: O(n).
 */
size_t sh_mask_find_stretch(const bool *present, size_t n, size_t from, size_t *first);

#endif
