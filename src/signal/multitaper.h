/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SIGNAL_MULTITAPER_H
#define SH_SIGNAL_MULTITAPER_H

#include <stdbool.h>
#include <stddef.h>

#include "base/status.h"
#include "signal/psd.h"

/*
 * Multitaper spectra (Thomson 1982, Proc IEEE 70:1055) in a workspace that is opened once and
 * then used for windows of any length up to n_max without touching the heap.
 * An object serves one thread at a time.
 */
struct sh_multitaper;

struct sh_multitaper_config {
    size_t n_max;     /* longest window, samples */
    double nw;        /* time-bandwidth product */
    size_t k;         /* tapers, 2 to SH_MULTITAPER_TAPERS_MAX and at most 2 nw */
    size_t n_fft;     /* padded length, at least n_max */
    bool is_adaptive; /* Thomson's adaptive weights; else the tapers' concentrations */
    /*
     * Only the density and its freedom are wanted (not with is_adaptive): the same within 1e-14
     * of the largest density, in a fraction of time and memory (signal/padded_power.h). Lines
     * and jackknife are then SH_ERR_NOT_FOUND.
     */
    bool is_density_only;
};

#define SH_MULTITAPER_TAPERS_MAX 16u

/* NW 3, K 5, padded to 16384, weights by concentration; n_max 16384. */
struct sh_multitaper_config sh_multitaper_config_default(void);

/*
 * Opens a workspace: 8 k n_max + 28 k n_fft bytes or so. Copies config. Gives *out, to be
 * closed. SH_ERR_ARGUMENT with the reason in err; SH_ERR_MEMORY.
 */
enum sh_status sh_multitaper_open(const struct sh_multitaper_config *config,
                                  struct sh_multitaper **out,
                                  struct sh_error *err);

/* Closes and sets *multitaper to NULL; takes NULL and a pointer to NULL. */
void sh_multitaper_close(struct sh_multitaper **multitaper);

/* One window of samples. */
struct sh_multitaper_window {
    const double *x;     /* [n]; values at absent samples are not looked at */
    const bool *present; /* [n], or NULL: all there */
    size_t n;
    double rate_hz;
};

/*
 * Works out the spectrum of one window. Mean and trend are the caller's to remove
 * (signal/detrend.h).
 *
 * Absent samples are left out, not filled: the tapers are set to zero there and made
 * orthonormal again on the samples that are present (Gram-Schmidt in the order of
 * concentration, twice), so that noise keeps its level and the estimates stay uncorrelated for
 * it. Their concentration falls, since a gap leaks; it is worked out anew from the tapers'
 * own spectra and used as weight, and sh_multitaper_get_concentration tells it.
 *
 * SH_ERR_ARGUMENT: n over n_max, rate. SH_ERR_SHORT: fewer than max(2 k, 2 nw + 2) samples
 * present. SH_ERR_SINGULAR: the samples present cannot carry k tapers. SH_ERR_NOT_FINITE.
 * After a failure the object holds no spectrum.
 * Cost: k transforms of n_fft and the tapers (signal/dpss.h) where n differs from the last
 * window's: 0.5 ms for n = 800, K = 5, 16384; 0.15 ms with is_density_only.
 * Test: tests/signal/test_multitaper.c; reference: test_reference_spectra.c against NumPy.
 */
enum sh_status sh_multitaper_run(struct sh_multitaper *multitaper,
                                 const struct sh_multitaper_window *window);

/*
 * The last spectrum, one-sided, unit^2/Hz; its arrays stay the object's and last until the next
 * run or close. SH_ERR_NOT_FOUND: no spectrum yet, or the last run failed.
 */
enum sh_status sh_multitaper_get_psd(const struct sh_multitaper *multitaper,
                                     struct sh_psd *psd);

/* Smallest concentration among the tapers of the last run: 1 is no leakage; 0 without one. */
double sh_multitaper_get_concentration(const struct sh_multitaper *multitaper);

/*
 * Degrees of freedom of the chi-square law of one bin (not the first or last):
 * 2 (sum of weights)^2 / (sum of squared weights). bin under n_fft/2 + 1; a run has succeeded.
 */
double sh_multitaper_get_freedom(const struct sh_multitaper *multitaper, size_t bin);

/*
 * Limits between which the true density of a bin lies with the given probability (0 .. 1,
 * both excluded), by the chi-square law of a steady Gaussian process.
 * SH_ERR_ARGUMENT: bin, probability. SH_ERR_NOT_FOUND: no spectrum.
 */
enum sh_status sh_multitaper_get_limits(const struct sh_multitaper *multitaper,
                                        size_t bin,
                                        double probability,
                                        double *lo,
                                        double *hi);

/*
 * Standard error of the natural logarithm of a bin's density by leaving out one taper at a time
 * (Thomson & Chave 1991): assumes no law. Limits are S exp(+- t se), Student's t with
 * k - 1 degrees of freedom. SH_ERR_SINGULAR: an estimate is 0. Others as above.
 */
enum sh_status
sh_multitaper_get_jackknife(const struct sh_multitaper *multitaper, size_t bin, double *log_u);

/* A line (pure tone) found by the harmonic F test. */
struct sh_multitaper_line {
    struct sh_quantity frequency_hz;
    double amplitude; /* of the sine, unit of x */
    double f;         /* F with 2 and 2 k - 2 degrees of freedom */
    double p_value;   /* that noise alone exceeds f anywhere in the range, 0 .. 1 */
};

/*
 * Finds the frequency between lo and hi where the harmonic F test (Thomson 1982, sec. XIII) is
 * largest, refined by a parabola. It always answers: whether there is a line is what p_value
 * tells, the chance of one bin, (1 + f / (k - 1))^(1 - k), taken for 5 (hi - lo) duration
 * independent tries and at least 5 (as noise alone shows it: F changes faster than the
 * density). The uncertainty is 1.5 times the Cramer-Rao bound, sqrt(3 S / pi^2 / amplitude^2 /
 * T^3), S being the density beside the line. SH_ERR_ARGUMENT: range. SH_ERR_NOT_FOUND: no
 * spectrum. Cost: O(k bins).
 */
enum sh_status sh_multitaper_find_line(const struct sh_multitaper *multitaper,
                                       double lo_hz,
                                       double hi_hz,
                                       struct sh_multitaper_line *out);

#endif
