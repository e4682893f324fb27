/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "measure/tremor_peak.h"

#include <math.h>

#define PEAK_OVER_WHITE 4.0 /* chi-square, 10 degrees: noise alone exceeds 3 once in 1000 */
#define APART_RATIO     0.8
#define NORMAL_975      1.959963984540054

/* Standard uncertainty of a density from the noise, squared. */
static double get_variance(const struct sh_tremor_peak_basis *basis, double density)
{
    const double w = basis->white / basis->n_axes;
    return (2.0 * density * w + basis->white * w) / basis->n_tapers;
}

/* May the point at f_hz be the highest, but for the noise? */
static bool may_be_highest(const struct sh_tremor_peak_basis *basis,
                           const struct sh_psd_peak *peak,
                           size_t bin)
{
    const struct sh_psd *psd = basis->psd;
    const double apart_hz = fabs((double)bin * psd->bin_hz - peak->frequency_hz.value);
    const double share = fmin(apart_hz / (APART_RATIO * psd->half_band_hz), 1.0);
    const double density = psd->power[bin];
    const double variance = get_variance(basis, density) + get_variance(basis, peak->power);
    return peak->power - density <= share * sqrt(variance);
}

struct sh_quantity
sh_tremor_peak_find(const struct sh_tremor_peak_basis *basis, double lo_hz, double hi_hz)
{
    const struct sh_psd *psd = basis->psd;
    struct sh_psd_peak peak;
    if (sh_psd_find_peak(psd, lo_hz, hi_hz, &peak) != SH_OK ||
        !(peak.power > PEAK_OVER_WHITE * basis->white)) {
        return sh_quantity_unknown(SH_WHY_NOT_SEEN);
    }
    struct sh_quantity frequency = sh_quantity_known(peak.frequency_hz.value, 0.0);
    frequency.has_interval = true;
    frequency.lo = frequency.value - 0.5 * psd->bin_hz;
    frequency.hi = frequency.value + 0.5 * psd->bin_hz;
    const size_t last = (size_t)floor(hi_hz / psd->bin_hz);
    for (size_t i = (size_t)ceil(lo_hz / psd->bin_hz); i <= last && i < psd->n_bins; i++) {
        if (may_be_highest(basis, &peak, i)) {
            frequency.lo = fmin(frequency.lo, ((double)i - 0.5) * psd->bin_hz);
            frequency.hi = fmax(frequency.hi, ((double)i + 0.5) * psd->bin_hz);
        }
    }
    frequency.u = 0.5 * (frequency.hi - frequency.lo) / NORMAL_975;
    return frequency;
}
