/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SIGNAL_WELCH_H
#define SH_SIGNAL_WELCH_H

#include <stdbool.h>
#include <stddef.h>

#include "base/status.h"
#include "signal/psd.h"

/*
 * Spectra averaged over overlapping segments (Welch 1967, IEEE Trans Audio 15:70), with the
 * periodic Hann window. A workspace serves one thread at a time.
 * Tests: tests/signal/test_welch.c; reference: a figure in closed form, and SciPy.
 */
struct sh_welch;

struct sh_welch_config {
    size_t n_segment;  /* samples, at least 4 */
    size_t n_overlap;  /* samples two neighbours share, less than n_segment */
    bool removes_mean; /* take each segment's mean off first */
};

/* Opens a workspace. SH_ERR_ARGUMENT with the reason in err; SH_ERR_MEMORY. Gives *out. */
enum sh_status sh_welch_open(const struct sh_welch_config *config,
                             struct sh_welch **out,
                             struct sh_error *err);

/* Closes and sets *welch to NULL; takes NULL and a pointer to NULL. */
void sh_welch_close(struct sh_welch **welch);

/* Number of bins: n_segment / 2 + 1. */
size_t sh_welch_get_bins(const struct sh_welch *welch);

/*
 * A series; samples past the last whole segment are not used. Segments touched by an absent
 * sample are left out whole: filling a gap would make up a spectrum. (For one window with gaps
 * signal/multitaper.h has tapers that go round them.)
 */
struct sh_welch_series {
    const double *x; /* [n] */
    const double *y; /* [n], the second one for coherence; else NULL */
    size_t n;
    double rate_hz;
    const bool *present; /* [n], or NULL: all there; absent samples are not looked at */
};

/* Segments of a series that have no gap; 0 where it is shorter than one. */
size_t sh_welch_count_segments(const struct sh_welch *welch,
                               const struct sh_welch_series *series);

/*
 * One-sided density of x, unit^2/Hz. psd's array is the workspace's until the next use or
 * close; psd->half_band_hz is 0.72 bins (half the window's half-power width). psd->duration_s
 * is what the segments used cover. SH_ERR_SHORT: no segment without a gap. SH_ERR_ARGUMENT:
 * rate. SH_ERR_NOT_FINITE. Cost: one transform of n_segment a segment.
 */
enum sh_status
sh_welch_run(struct sh_welch *welch, const struct sh_welch_series *series, struct sh_psd *psd);

/*
 * Magnitude-squared coherence of x and y, 0 to 1, into coherence[bins]; a bin where one of the
 * two has no power gives 0. With one segment it is 1 everywhere and means nothing: SH_ERR_SHORT
 * under two segments without a gap. What is chance in it: signal/coherence.h. Other statuses as
 * above, and SH_ERR_ARGUMENT for y NULL.
 */
enum sh_status sh_welch_get_coherence(struct sh_welch *welch,
                                      const struct sh_welch_series *series,
                                      double *coherence);

#endif
