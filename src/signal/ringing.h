/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SIGNAL_RINGING_H
#define SH_SIGNAL_RINGING_H

#include <stddef.h>

#include "base/quantity.h"
#include "base/status.h"

/*
 * Damped modes of a decaying vibration by the matrix pencil: the samples are
 * x[i] = sum of A exp(-2 pi f0 z t) cos(2 pi f0 sqrt(1 - z^2) t + phase) + noise, t = i / rate.
 * Workspace opened once; an object serves one thread at a time.
 */
struct sh_ringing;

#define SH_RINGING_MODES_MAX 8u

struct sh_ringing_config {
    size_t n_max;   /* longest window, samples, at most 65536 */
    size_t n_modes; /* most modes looked for, 1 to SH_RINGING_MODES_MAX */
    size_t n_lags;  /* most lags of the pencil (a third of the window is used, at most these) */
};

/* 2048 samples, 4 modes, 300 lags. */
struct sh_ringing_config sh_ringing_config_default(void);

/*
 * Opens a workspace of 8 n_lags^2 bytes and a little. Copies config. Gives *out, to be closed.
 * SH_ERR_ARGUMENT with the reason in err; SH_ERR_MEMORY.
 */
enum sh_status sh_ringing_open(const struct sh_ringing_config *config,
                               struct sh_ringing **out,
                               struct sh_error *err);

/* Closes and sets *ringing to NULL; takes NULL and a pointer to NULL. */
void sh_ringing_close(struct sh_ringing **ringing);

struct sh_ringing_mode {
    struct sh_quantity frequency_hz; /* undamped natural frequency f0 */
    struct sh_quantity damping;      /* damping ratio z; below 0: it grows */
    struct sh_quantity amplitude;    /* A, at the first sample of the window */
    struct sh_quantity phase_rad;    /* -pi .. pi */
};

struct sh_ringing_result {
    size_t n_modes;                                    /* 0: nothing stands out of the noise */
    struct sh_ringing_mode mode[SH_RINGING_MODES_MAX]; /* largest amplitude first */
    double residual_sd;
    size_t order; /* signal values kept: two a mode, one a decaying level */
};

/*
 * Finds the modes of x[n]: poles and their number by sh_pencil_run (signal/pencil.h),
 * amplitudes by linear least squares. Standard uncertainties from the covariance of
 * all parameters for white noise of the residual's level (the Cramer-Rao bound; the pencil
 * reaches it within about a tenth). Poles that are real (a level that decays) take part in the
 * fit but are not listed. Remove constant levels first where the window is short.
 *
 * SH_ERR_SHORT: n is under 12 n_modes + 48. SH_ERR_ARGUMENT: n over n_max, rate.
 * SH_ERR_NOT_FINITE. SH_ERR_SINGULAR: modes too near each other to be told apart, or no
 * convergence. All samples 0: fine, no modes. No heap. Cost: 4 ms for n = 1000 (300
 * lags), 0.5 ms for 250. Test: tests/signal/test_ringing.c; reference: 38 Hz, 0.03 with 1 %
 * noise.
 */
enum sh_status sh_ringing_run(struct sh_ringing *ringing,
                              const double *x,
                              size_t n,
                              double rate_hz,
                              struct sh_ringing_result *out);

#endif
