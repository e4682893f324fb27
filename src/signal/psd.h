/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SIGNAL_PSD_H
#define SH_SIGNAL_PSD_H

#include <stdbool.h>
#include <stddef.h>

#include "base/quantity.h"
#include "base/status.h"

/*
 * What can be read off a one-sided power spectral density, whoever estimated it. Between bins
 * the density is taken as straight. Functions here may run in any thread.
 * Tests: tests/signal/test_psd.c.
 */
struct sh_psd {
    const double *power; /* [n_bins], unit^2/Hz, at frequencies 0, bin_hz, 2 bin_hz ...; kept */
    size_t n_bins;
    double bin_hz;
    double duration_s;   /* of the samples behind it, gaps not counted */
    double half_band_hz; /* half-width of the estimator's smoothing: NW / duration for tapers */
};

/*
 * Power (unit^2) between two frequencies: the integral of the density.
 * SH_ERR_ARGUMENT: not 0 <= lo < hi, or hi above the last bin. SH_ERR_SHORT: under 2 bins.
 * Cost: O(bins between).
 */
enum sh_status
sh_psd_get_power(const struct sh_psd *psd, double lo_hz, double hi_hz, double *power);

/*
 * Root mean square between two frequencies, with the standard uncertainty that the length of
 * the record leaves if the signal is a steady Gaussian process:
 * u(rms) / rms = 1 / sqrt(2 nu), nu = 2 T P^2 / integral of S^2, which is 2 T B for a level
 * band of width B (Bendat & Piersol 2010, Random Data, sec. 8.3). It is the uncertainty of the
 * process's rms, not of the energy in this very record. Statuses as sh_psd_get_power.
 */
enum sh_status
sh_psd_get_rms(const struct sh_psd *psd, double lo_hz, double hi_hz, struct sh_quantity *rms);

struct sh_psd_peak {
    struct sh_quantity frequency_hz;
    double power; /* unit^2/Hz, at the interpolated peak */
    bool is_edge; /* the density is largest at an end of the range: no hump inside */
};

/*
 * Finds the highest point between two frequencies, the bins nearest inside them included, and
 * refines it by a parabola through the logarithms of three bins (not at an edge, and not where
 * a neighbour is 0). The standard uncertainty is half_band_hz (at least half a bin): what was
 * seen on simulated humps (resonance of Q 4 and 2 s to 4 s of it: 0.4 to 1.0 times
 * half_band_hz; tests/signal/test_multitaper.c).
 * SH_ERR_ARGUMENT: as above, or no bin between. SH_ERR_SHORT. SH_ERR_SINGULAR: all bins are 0.
 */
enum sh_status
sh_psd_find_peak(const struct sh_psd *psd, double lo_hz, double hi_hz, struct sh_psd_peak *out);

#endif
