/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SIGNAL_PADDED_POWER_H
#define SH_SIGNAL_PADDED_POWER_H

#include <stddef.h>

#include "base/status.h"

/*
 * Weighted sum of the squared sizes of several series' transforms, all padded with zeros to one
 * length, without transforming each of them at that length. The sum is the transform of the
 * weighted sum of the series' autocorrelations (Wiener 1930, Acta Math 55:117), which have no
 * lag beyond the series' own length n: it is formed on the shortest grid of at least 2 n
 * points, turned into the autocorrelation, and that alone is transformed at the full length.
 * Rounding is some 1e-15 of the largest value; what it would make negative is set to 0.
 * Opened once, no heap afterwards. One thread at a time.
 */
struct sh_padded_power;

/*
 * Opens it for padded length n_fft (1 to SH_FFT_LENGTH_MAX). Gives *out, to be closed.
 * SH_ERR_ARGUMENT, SH_ERR_MEMORY as sh_fft_open. Test: tests/signal/test_padded_power.c.
 */
enum sh_status
sh_padded_power_open(size_t n_fft, struct sh_padded_power **out, struct sh_error *err);

/* Closes and sets *power to NULL; takes NULL and a pointer to NULL. */
void sh_padded_power_close(struct sh_padded_power **power);

/* Begins a sum of series of n samples each, n at most n_fft (the caller guarantees it). */
void sh_padded_power_start(struct sh_padded_power *power, size_t n);

/*
 * Adds weight |X_k|^2 of x[n], n as at the start. SH_ERR_NOT_FINITE. Cost: one transform of the
 * shorter length.
 */
enum sh_status
sh_padded_power_add(struct sh_padded_power *power, const double *x, double weight);

/*
 * The sum, into out[n_fft / 2 + 1], for k = 0 .. n_fft / 2. SH_ERR_NOT_FINITE: a square was too
 * large. Cost: two transforms, one of n_fft.
 */
enum sh_status sh_padded_power_finish(struct sh_padded_power *power, double *out);

#endif
