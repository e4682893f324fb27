/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SIGNAL_DECIMATE_H
#define SH_SIGNAL_DECIMATE_H

#include <stddef.h>

#include "base/status.h"

/*
 * Resamples a window of evenly sampled data onto a slower even grid, without delay, whatever
 * the ratio of the rates: every output sample is a sum of the input weighted by a sinc under a
 * Kaiser window, centred on the output's own time and scaled to pass constants exactly.
 *
 * With r the output rate: flat within 0.0002 of 1 from 0 to 0.4 r, below 0.0002 from 0.6 r on
 * (what folds back therefore lies above 0.4 r), half-amplitude at 0.5 r. At 200 Hz: flat to
 * 80 Hz, gone from 120 Hz. The sum reaches SH_DECIMATE_REACH / r to both sides (63 ms at 200
 * Hz).
 *
 * An open object is never changed by use: any number of threads may share it.
 */
struct sh_decimate;

#define SH_DECIMATE_REACH 12.5 /* output samples */

/*
 * Opens a resampler from in_hz to out_hz. Where in_hz <= out_hz nothing is to be done: it
 * copies, and sh_decimate_get_rate tells in_hz. Gives *out, to be closed.
 * SH_ERR_ARGUMENT: a rate is not positive and finite, or in_hz is over 10000 out_hz.
 * SH_ERR_MEMORY. Source: Kaiser 1974; Oppenheim & Schafer 2010, sec. 7.5.3 (80 dB, beta 7.857).
 */
enum sh_status
sh_decimate_open(double in_hz, double out_hz, struct sh_decimate **out, struct sh_error *err);

/* Closes and sets *decimate to NULL; takes NULL and a pointer to NULL. */
void sh_decimate_close(struct sh_decimate **decimate);

/* The rate of what comes out. */
double sh_decimate_get_rate(const struct sh_decimate *decimate);

/*
 * How many output samples n input samples give: those at times 0, 1/rate, 2/rate ... from the
 * first input sample that do not pass the last input sample.
 */
size_t sh_decimate_get_count(const struct sh_decimate *decimate, size_t n);

/*
 * Resamples x[n] into y[sh_decimate_get_count(n)]; y[0] belongs to the time of x[0]. Beyond
 * both ends the input goes on as its odd reflection about the end sample (straight lines pass),
 * as far as there is input to reflect, and then as the last reflected value. To keep the ends
 * free of it, give SH_DECIMATE_REACH output samples more on each side and drop them.
 * y may not be the same array as x. SH_ERR_SHORT: n is 0. SH_ERR_NOT_FINITE: y untouched.
 * Cost: 25 in_hz / out_hz multiplications an output sample.
 * Test: tests/signal/test_decimate.c.
 */
enum sh_status
sh_decimate_run(const struct sh_decimate *decimate, const double *x, size_t n, double *y);

#endif
