/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SIGNAL_DPSS_H
#define SH_SIGNAL_DPSS_H

#include <stddef.h>

#include "base/status.h"

/*
 * Discrete prolate spheroidal sequences (Slepian tapers).
 */
struct sh_dpss_config {
    size_t n;  /* samples, 2 to SH_DPSS_LENGTH_MAX */
    double nw; /* half-bandwidth in units of 1/n, above 0, at most SH_DPSS_NW_MAX, below n/2 */
    size_t k;  /* how many tapers, 1 to n and at most SH_DPSS_TAPERS_MAX */
};

#define SH_DPSS_LENGTH_MAX ((size_t)1 << 22)
#define SH_DPSS_NW_MAX     64.0
#define SH_DPSS_TAPERS_MAX 128u

/*
 * Works out the first k tapers, most concentrated first.
 * tapers: [k][n], each of unit energy; even-numbered ones have a positive sum, odd-numbered
 * ones begin with a positive lobe. concentration: [k], the share of each taper's energy inside
 * the half-bandwidth, to about 1e-13; may be NULL.
 *
 * The sequences are the eigenvectors of Slepian's tridiagonal matrix (1978, Bell Syst Tech J
 * 57:1371, eq. 14). Up to a shift it is minus the sum of a weighted difference operator and of
 * the positive diagonal 2 t^2 sin^2(pi W), t counted from the middle; in that form the
 * recurrence from the edge inward has no cancellation. Eigenvalues are bracketed by counting
 * sign changes and then found to 9e-16 of themselves by false position, for the even and the
 * odd half apart, eight side by side; the vector is then the recurrence itself, which grows
 * inward and so damps its own errors. Concentrations: one row of the sine kernel, at the
 * taper's largest sample.
 *
 * SH_ERR_ARGUMENT: config out of range. Cost: some 12 passes over n / 2 samples for each
 * eight tapers and O(k n): 65 us for n = 700, k = 5. No heap.
 * Threads: any. Tests: tests/signal/test_dpss.c; tests/reference/test_reference_spectra.c
 * against SciPy (7 to 16384 samples) and 40-digit concentrations.
 */
enum sh_status
sh_dpss_make(const struct sh_dpss_config *config, double *tapers, double *concentration);

#endif
