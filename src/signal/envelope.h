/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SIGNAL_ENVELOPE_H
#define SH_SIGNAL_ENVELOPE_H

#include <stddef.h>

#include "base/quantity.h"
#include "base/status.h"

/*
 * Envelope of a narrow-band series (the size of its analytic signal), and damping from how it
 * decays. A workspace serves one thread at a time. Test: tests/signal/test_envelope.c;
 * reference: SciPy's hilbert.
 */
struct sh_envelope;

/* Opens a workspace for series of n samples, 2 or more. SH_ERR_ARGUMENT, SH_ERR_MEMORY. */
enum sh_status sh_envelope_open(size_t n, struct sh_envelope **out, struct sh_error *err);

/* Closes and sets *envelope to NULL; takes NULL and a pointer to NULL. */
void sh_envelope_close(struct sh_envelope **envelope);

/*
 * Analytic signal of x[n], n as opened: x + j H(x), H the discrete Hilbert transform (all
 * negative frequencies set to 0, period n: both ends are disturbed where they do not meet;
 * Marple 1999, IEEE Trans Signal Process 47:2600). amplitude, phase_rad: [n], each may be NULL;
 * phase unwrapped, in radians. Remove the mean first. SH_ERR_NOT_FINITE.
 */
enum sh_status sh_envelope_run(struct sh_envelope *envelope,
                               const double *x,
                               double *amplitude,
                               double *phase_rad);

/* A decaying oscillation as its envelope and phase show it. */
struct sh_envelope_decay {
    struct sh_quantity log_decrement; /* loss of ln amplitude in one period */
    struct sh_quantity damping;       /* delta / sqrt(4 pi^2 + delta^2) */
    struct sh_quantity frequency_hz;  /* damped frequency */
};

/*
 * Logarithmic decrement over samples first .. first + n_span - 1 of an envelope and phase made
 * by sh_envelope_run: slopes of ln amplitude and of phase by least squares. Choose a span
 * inside the ends, with one mode in it and well above noise. The uncertainties come from the
 * residuals, enlarged for their serial correlation by sqrt((1 + r) / (1 - r)), r the residuals'
 * lag-one autocorrelation.
 * SH_ERR_SHORT: n_span under 8. SH_ERR_ARGUMENT: rate. SH_ERR_NOT_FINITE.
 * SH_ERR_SINGULAR: an amplitude is 0, or the phase does not advance.
 */
struct sh_envelope_span {
    const double *amplitude;
    const double *phase_rad;
    size_t first;
    size_t n_span;
    double rate_hz;
};
enum sh_status sh_envelope_find_decay(const struct sh_envelope_span *span,
                                      struct sh_envelope_decay *out);

#endif
