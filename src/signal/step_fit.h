/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SIGNAL_STEP_FIT_H
#define SH_SIGNAL_STEP_FIT_H

#include <stdbool.h>
#include <stddef.h>

#include "base/quantity.h"
#include "base/status.h"

/*
 * When a level went over to another, to a fraction of a sample.
 *
 * Model: a level (or straight line) up to a start t0, half a cosine over a duration d, another
 * level from t0 + d on; each sample is the mean of that over the sensor's own averaging time
 * before it. The levels follow by linear least squares for any t0 and d; those two are found by
 * least squares too, and then one of two ways gives the uncertainty:
 * - resolved: the samples determine d (to better than a quarter of itself). Levenberg-Marquardt
 *   (Marquardt 1963) and the covariance of the fit.
 * - not resolved: the ramp lies between few samples, so that start and duration cannot be told
 *   apart. The likelihood is averaged over all d of the given range (each as likely before) and
 *   over t0, and mean, standard deviation and 95 % interval of the wanted time are those of
 *   that law: honest for a ramp of a few ms at 80 Hz.
 *
 * The true ramp has another shape. Fitting half a cosine to a straight line, a logistic curve,
 * an error function, parabolas either way up and an exponential misses the 10 % point by 0.000
 * to 0.070 of d, the middle by 0 to 0.049 and the curve by 0.001 to 0.024 rms of the drop
 * (found numerically). Hence sh_step_fit_get_shape_ratio of d is added to the uncertainty, the
 * range of that taken as a rectangle's, and SH_STEP_FIT_MISFIT_RATIO of the drop to the noise
 * of an unresolved ramp. Where at least 4 samples lie on the ramp, the time is read from the
 * samples around it instead of from the cosine, and a fifth of the former is left (tests: at
 * most 0.16 ms rms for any of those shapes at 1000 Hz, 0.18 stated).
 */
struct sh_step_fit_config {
    double rate_hz;
    double boxcar_s;       /* the sensor's averaging time before each sample, 0: none */
    double fraction;       /* of the way between the levels whose time is wanted, 0 .. 1 */
    double duration_min_s; /* range of the ramp's duration, above 0 */
    double duration_max_s;
    double start_min_s; /* range of the start, from the time of the first sample */
    double start_max_s;
    double noise;   /* standard deviation of one sample, 0: from the residual */
    bool has_slope; /* a straight line before the ramp instead of a level */
};

#define SH_STEP_FIT_MISFIT_RATIO 0.025
#define SH_STEP_FIT_SAMPLES_MIN  8u

/* Standard uncertainty of the time of a fraction from the ramp's unknown shape, in durations:
 * 0.06 up to 20 % from either end, 0.025 between. */
double sh_step_fit_get_shape_ratio(double fraction);

/* 1000 Hz, no averaging, 10 %, 1 ms to 100 ms, start anywhere, no slope, noise unknown. */
struct sh_step_fit_config sh_step_fit_config_default(void);

struct sh_step_fit {
    struct sh_quantity time_s;     /* of the wanted fraction, from the first sample */
    struct sh_quantity start_s;    /* t0 */
    struct sh_quantity duration_s; /* d */
    struct sh_quantity drop;       /* level before (at t0) minus level after, may be negative */
    double before;                 /* level at t0 */
    double after;
    double slope;       /* before the ramp, unit a second; 0 without has_slope */
    double residual_sd; /* of the best fit */
    bool is_resolved;
};

/*
 * Fits x[n]. Give a window that shows both levels: the ramp's largest duration before it, and
 * as much after it as the new level stays undisturbed. SH_ERR_ARGUMENT: config (rate, fraction,
 * ranges empty or outside the window). SH_ERR_SHORT: n under SH_STEP_FIT_SAMPLES_MIN.
 * SH_ERR_NOT_FINITE. SH_ERR_SINGULAR: no start in the range leaves samples on both sides, or
 * there is no step (drop below 3 of its own standard uncertainties). No heap, 100 KB of stack.
 * Any thread. Cost: some hundred to thousand fits: 0.5 ms where resolved, 2 ms where not, for n
 * up to 2048; forty times that for longer windows, whose samples are added up in each fit.
 * Test: tests/signal/test_step_fit.c (bias and spread against the stated u, 80 Hz to 1 kHz).
 */
enum sh_status sh_step_fit_run(const struct sh_step_fit_config *config,
                               const double *x,
                               size_t n,
                               struct sh_step_fit *out);

#endif
