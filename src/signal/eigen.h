/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SIGNAL_EIGEN_H
#define SH_SIGNAL_EIGEN_H

#include <complex.h>
#include <stddef.h>

#include "base/status.h"

/*
 * Eigenvalues of small dense matrices, [n][n] row by row. Any thread, no heap.
 * Test: tests/signal/test_eigen.c.
 */

/*
 * Eigenvalues (largest first) and orthonormal eigenvectors of a symmetric matrix by cyclic
 * Jacobi rotations (Golub & Van Loan 2013, sec. 8.5). a is spoilt. vectors [n][n]: row i
 * belongs to values[i]. Both triangles of a are read. SH_ERR_NOT_FINITE. SH_ERR_SINGULAR: no
 * convergence in 60 sweeps (never seen). Cost: about 60 n^3 operations.
 */
enum sh_status sh_eigen_symmetric(double *a, size_t n, double *values, double *vectors);

/*
 * Eigenvalues of a complex matrix by Hessenberg reduction and QR steps with Wilkinson's shift
 * (Golub & Van Loan 2013, secs. 7.4, 7.5), in no order. a is spoilt.
 * SH_ERR_NOT_FINITE. SH_ERR_SINGULAR: no convergence in 60 n steps. Cost: about 100 n^3.
 */
enum sh_status sh_eigen_general(double complex *a, size_t n, double complex *values);

#endif
