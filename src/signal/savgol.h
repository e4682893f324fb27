/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SIGNAL_SAVGOL_H
#define SH_SIGNAL_SAVGOL_H

#include <stddef.h>

#include "base/status.h"

/*
 * Savitzky-Golay smoothing and derivatives: the value, or a derivative, of the polynomial of a
 * given order fitted by least squares to each window (Savitzky & Golay 1964, Anal Chem
 * 36:1627). Any thread, no heap. Tests: tests/signal/test_savgol.c; reference: SciPy.
 */
struct sh_savgol_config {
    size_t n_window;   /* samples, at least order + 1, at most SH_SAVGOL_WINDOW_MAX */
    size_t order;      /* of the polynomial, at most SH_SAVGOL_ORDER_MAX */
    size_t derivative; /* 0: the value; at most order */
};

#define SH_SAVGOL_WINDOW_MAX 65536u
#define SH_SAVGOL_ORDER_MAX  16u

/*
 * Weights that give the derivative (unit of x a sample^derivative) at a position in the window:
 * sum of weights[i] * x[i]. position: in samples from the window's first, 0 .. n_window - 1,
 * fractions allowed; (n_window - 1) / 2 is the usual middle. weights: [n_window].
 * Worked out with polynomials made orthogonal on the window, so high orders keep their digits.
 * SH_ERR_ARGUMENT: config or position out of range. Cost: O(n_window order).
 */
enum sh_status
sh_savgol_make(const struct sh_savgol_config *config, double position, double *weights);

/*
 * Filters x[n] into y[n] (not the same array): the middle of each window, and near both ends
 * the other positions of the first and the last window. n_window must be odd.
 * rate_hz scales derivatives to units a second^derivative. work: [n_window], lent.
 * SH_ERR_ARGUMENT: config, even window, rate. SH_ERR_SHORT: n < n_window. SH_ERR_NOT_FINITE.
 * Cost: O(n n_window + n_window^2 order).
 */
struct sh_savgol_series {
    const double *x; /* [n] */
    size_t n;
    double rate_hz;
};
enum sh_status sh_savgol_filter(const struct sh_savgol_config *config,
                                const struct sh_savgol_series *series,
                                double *work,
                                double *y);

#endif
