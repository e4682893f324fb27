/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_MEASURE_UNSTEADY_H
#define SH_MEASURE_UNSTEADY_H

#include <stdbool.h>
#include <stddef.h>

#include "signal/psd.h"

/*
 * What disturbs a mean of the force over a short window: the sensor's white noise, and the
 * tremor as its spectrum shows it up to 25 Hz. Below 2 Hz the spectrum holds what is to be
 * measured; there the tremor is taken to go on as it is between 2 and 4 Hz, as the flank of a
 * resonance does. The spectrum is that of a steady process, so the variance of any linear
 * filter of the force is the integral of spectrum times squared gain (Papoulis 1991, sec.
 * 10-3). Plain values, no heap, any thread. Test: tests/measure/test_unsteady.c.
 */
struct sh_unsteady {
    double white_n; /* rms per sample, N */
    double rate_hz; /* samples a second that white_n stands for */
    const double
        *power;    /* [n_bins], N^2/Hz at 0, bin_hz ... ; white part taken off; borrowed */
    size_t n_bins; /* 0: tremor unknown, white noise alone is reckoned */
    double bin_hz;
};

#define SH_UNSTEADY_LOW_HZ   2.0
#define SH_UNSTEADY_FLANK_HZ 4.0
#define SH_UNSTEADY_HIGH_HZ  25.0

/*
 * Takes the white part off psd up to 25 Hz into power[SH_WORKSPACE_BINS_MAX], which is kept,
 * and sets unsteady to it; bins below the white density become 0, those below 2 Hz the mean of
 * those from 2 to 4 Hz.
 */
void sh_unsteady_set(struct sh_unsteady *unsteady, const struct sh_psd *psd, double *power);

/*
 * Variance (N^2) of the difference between the means over two windows whose centres lie lag_s
 * apart. b_s = 0: of the mean over a_s alone. White parts are taken as apart (overlapping
 * windows: too large rather than too small). a_s > 0.
 */
double sh_unsteady_get_variance(const struct sh_unsteady *unsteady,
                                double a_s,
                                double b_s,
                                double lag_s);

/* Variance ((N/s)^2) of the least-squares slope over a window of length_s > 0. */
double sh_unsteady_get_slope_variance(const struct sh_unsteady *unsteady, double length_s);

#endif
