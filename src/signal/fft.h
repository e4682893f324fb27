/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SIGNAL_FFT_H
#define SH_SIGNAL_FFT_H

#include <stddef.h>

#include "base/status.h"

/*
 * Discrete Fourier transforms of real series of one fixed length.
 *
 * The same input gives the same bits in every run: the planner only estimates, keeps no
 * experience, and works on arrays of one alignment. An object serves one thread at a time;
 * different objects may be used, opened and closed at the same time in different threads
 * (making and destroying plans is held under one lock).
 */
struct sh_fft;

#define SH_FFT_LENGTH_MAX ((size_t)1 << 24)

/*
 * Opens transforms of n real samples, 1 to SH_FFT_LENGTH_MAX, any factors.
 * Gives *out, to be closed with sh_fft_close; untouched on failure.
 * SH_ERR_ARGUMENT: n out of range. SH_ERR_MEMORY. err may be NULL.
 * Cost: O(n) memory, about 40 bytes a sample. Test: tests/signal/test_fft.c.
 */
enum sh_status sh_fft_open(size_t n, struct sh_fft **out, struct sh_error *err);

/* Closes and sets *fft to NULL; takes NULL and a pointer to NULL. */
void sh_fft_close(struct sh_fft **fft);

/* Number of real samples. */
size_t sh_fft_get_length(const struct sh_fft *fft);

/* Number of complex values of a spectrum: n / 2 + 1. */
size_t sh_fft_get_bins(const struct sh_fft *fft);

/*
 * spectrum[k] = sum over i of x[i] exp(-2 pi j k i / n), k = 0 .. n/2.
 * x: [n_x] with n_x <= n, the rest is taken as zero. spectrum: [n / 2 + 1][2], real and
 * imaginary part. SH_ERR_ARGUMENT: n_x over n. SH_ERR_NOT_FINITE: spectrum untouched.
 * Cost: O(n log n). Test: tests/signal/test_fft.c, against the defining sum.
 */
enum sh_status
sh_fft_forward(struct sh_fft *fft, const double *x, size_t n_x, double (*spectrum)[2]);

/*
 * The inverse, scaled by 1/n: forward and then inverse gives x back.
 * spectrum: [n / 2 + 1][2]; the imaginary parts at 0 and (n even) n/2 are taken as zero.
 * x: [n]. SH_ERR_NOT_FINITE: x untouched. Cost: O(n log n).
 */
enum sh_status sh_fft_inverse(struct sh_fft *fft, double (*spectrum)[2], double *x);

#endif
