/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SIGNAL_PENCIL_H
#define SH_SIGNAL_PENCIL_H

#include <complex.h>
#include <stddef.h>

#include "base/status.h"

/*
 * Poles of a series that is a sum of damped exponentials and noise: the matrix pencil
 * (Hua & Sarkar 1990, IEEE Trans ASSP 38:814) on the signal subspace, solved by rotational
 * invariance (Roy & Kailath 1989, ibid. 37:984). A workspace serves one thread at a time.
 */
struct sh_pencil;

#define SH_PENCIL_ORDER_MAX 16u
#define SH_PENCIL_SPARE     8u /* directions beyond the order, which speed up convergence */
#define SH_PENCIL_LAGS_MAX  4096u

/*
 * Opens room for up to order_max poles (even, 2 to SH_PENCIL_ORDER_MAX) and n_lags lags (at
 * least twice order_max + SH_PENCIL_SPARE, at most SH_PENCIL_LAGS_MAX). Gives *out, to be
 * closed. SH_ERR_ARGUMENT, SH_ERR_MEMORY. Memory: 8 n_lags^2 bytes and a little.
 */
enum sh_status sh_pencil_open(size_t n_lags, size_t order_max, struct sh_pencil **out);

/* Closes and sets *pencil to NULL; takes NULL and a pointer to NULL. */
void sh_pencil_close(struct sh_pencil **pencil);

/*
 * Finds the poles (a sample) of x[n] into poles[SH_PENCIL_ORDER_MAX], how many into *order
 * (even, 0 where nothing stands out of noise).
 * Lags: a third of n, at most n_lags. The leading eigenvectors of the lags' covariance come
 * from 12 rounds of subspace iteration, started from its own columns. The order is the number
 * of eigenvalues above 2.5 times what white noise of the level seen in the small ones could
 * reach (Marchenko & Pastur 1967), and above 1e-13 of the largest, made even. SH_ERR_SHORT: the
 * lags would not be over order_max + SH_PENCIL_SPARE. SH_ERR_NOT_FINITE. SH_ERR_SINGULAR: no
 * convergence of a small eigenproblem. Cost: 4 ms for n = 1000, 4 modes. Test:
 * tests/signal/test_ringing.c.
 */
enum sh_status sh_pencil_run(
    struct sh_pencil *pencil, const double *x, size_t n, double complex *poles, size_t *order);

#endif
