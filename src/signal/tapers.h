/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SIGNAL_TAPERS_H
#define SH_SIGNAL_TAPERS_H

#include <stdbool.h>
#include <stddef.h>

#include "base/status.h"

/*
 * The tapers of one multitaper workspace: Slepian sequences of the window's length, kept from
 * one window to the next while the length stays, and made orthonormal again on the samples that
 * are present where some are absent. An object serves one thread at a time.
 */
struct sh_tapers;

#define SH_TAPERS_MAX 16u

/*
 * Opens room for k tapers of up to n_max samples with time-bandwidth product nw.
 * SH_ERR_ARGUMENT: k is 0 or over SH_TAPERS_MAX, or n_max is 0. SH_ERR_MEMORY. Gives *out.
 */
enum sh_status sh_tapers_open(size_t n_max, double nw, size_t k, struct sh_tapers **out);

/* Closes and sets *tapers to NULL; takes NULL and a pointer to NULL. */
void sh_tapers_close(struct sh_tapers **tapers);

/*
 * Makes the tapers for n samples (at most n_max). present: [n], or NULL: all there.
 * With absent samples: each taper is set to zero there, cleared of the earlier ones
 * (Gram-Schmidt, twice) and scaled to unit energy; its concentration is the share of its
 * energy within nw / n of 0, by Simpson's rule over its transform (to about 1e-4).
 * SH_ERR_ARGUMENT: n. SH_ERR_SINGULAR: the samples present cannot carry k tapers (less than
 * 1e-6 of a taper's energy is left). Cost: O(60 k n) when n changes; with gaps O(k^2 n) and
 * O(16 nw k n) more. Test: tests/signal/test_multitaper.c.
 */
enum sh_status sh_tapers_make(struct sh_tapers *tapers, const bool *present, size_t n);

/* Taper i of the last make, [n]; and its concentration, 0 to 1. Theirs until the next make. */
const double *sh_tapers_get(const struct sh_tapers *tapers, size_t i);
double sh_tapers_get_concentration(const struct sh_tapers *tapers, size_t i);

#endif
