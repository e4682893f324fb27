/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_MEASURE_TREMOR_PEAK_H
#define SH_MEASURE_TREMOR_PEAK_H

#include "base/quantity.h"
#include "signal/psd.h"

/* A spectrum of a hold, and what else bears on where its highest point lies. */
struct sh_tremor_peak_basis {
    const struct sh_psd *psd; /* of tapers, the powers of the axes added */
    double white;             /* density of the sensor's noise in it, unit^2/Hz */
    double n_axes;            /* whose powers were added, 1 or more */
    double n_tapers;
};

/*
 * The frequency (Hz) of the highest point between two frequencies.
 *
 * Uncertain is where that point lies but for the noise. Noise of density w makes a density S of
 * K tapers uncertain by sqrt(2 S w / K + w^2 / K) (the noise's products with the signal and
 * with itself), and the difference of two densities that lie d apart, under the half-width W
 * of the smoothing, by the root of both squares times d / (0.8 W), as simulated. The limits
 * take in every frequency whose density is lower than the highest by less than that; at a round
 * hump that is the 95 % of the linear law, at several humps it reaches over all that may be the
 * highest. u is half the limits' distance by 1.96.
 *
 * It is not how well so short a hold tells the frequency of a tremor: that is W, 0.6 to 1.4 Hz.
 *
 * SH_WHY_NOT_SEEN: the highest point does not stand out from the noise, or there is none.
 * Any thread. Cost: O(bins between). Test: tests/measure/test_tremor_peak.c.
 */
struct sh_quantity
sh_tremor_peak_find(const struct sh_tremor_peak_basis *basis, double lo_hz, double hi_hz);

#endif
