/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/psd.h"

#include <math.h>

static enum sh_status check_range(const struct sh_psd *psd, double lo_hz, double hi_hz)
{
    if (psd->n_bins < 2) {
        return SH_ERR_SHORT;
    }
    double top_hz = psd->bin_hz * (double)(psd->n_bins - 1);
    if (!(lo_hz >= 0.0 && hi_hz > lo_hz && hi_hz <= top_hz * (1.0 + 1e-12))) {
        return SH_ERR_ARGUMENT;
    }
    return SH_OK;
}

/* Integrals of the density and of its square; the density is straight between bins. */
struct integrals {
    double power;
    double square;
};

static struct integrals integrate(const struct sh_psd *psd, double lo_hz, double hi_hz)
{
    struct integrals sum = {0.0, 0.0};
    double lo = lo_hz / psd->bin_hz;
    double hi = fmin(hi_hz / psd->bin_hz, (double)(psd->n_bins - 1));
    for (size_t i = (size_t)lo; i + 1 < psd->n_bins && (double)i < hi; i++) {
        double from = lo > (double)i ? lo - (double)i : 0.0;
        double to = hi < (double)i + 1.0 ? hi - (double)i : 1.0;
        double rise = psd->power[i + 1] - psd->power[i];
        double a = psd->power[i] + from * rise;
        double b = psd->power[i] + to * rise;
        sum.power += 0.5 * (to - from) * (a + b);
        sum.square += (to - from) * (a * a + a * b + b * b) / 3.0;
    }
    sum.power *= psd->bin_hz;
    sum.square *= psd->bin_hz;
    return sum;
}

enum sh_status
sh_psd_get_power(const struct sh_psd *psd, double lo_hz, double hi_hz, double *power)
{
    enum sh_status status = check_range(psd, lo_hz, hi_hz);
    if (status == SH_OK) {
        *power = integrate(psd, lo_hz, hi_hz).power;
    }
    return status;
}

enum sh_status
sh_psd_get_rms(const struct sh_psd *psd, double lo_hz, double hi_hz, struct sh_quantity *rms)
{
    enum sh_status status = check_range(psd, lo_hz, hi_hz);
    if (status != SH_OK) {
        return status;
    }
    struct integrals sum = integrate(psd, lo_hz, hi_hz);
    double value = sqrt(fmax(sum.power, 0.0));
    double u = 0.0;
    if (sum.power > 0.0) {
        double freedom = 2.0 * psd->duration_s * sum.power * sum.power / sum.square;
        u = value / sqrt(2.0 * freedom);
    }
    *rms = sh_quantity_known(value, u);
    return SH_OK;
}

/* Offset in bins, -0.5 .. 0.5, and height of a parabola through three logarithms. */
static double refine(const double *power, double *height)
{
    double before = log(power[-1] / power[0]);
    double after = log(power[1] / power[0]);
    double bend = before + after;
    double offset = bend < 0.0 ? 0.5 * (before - after) / bend : 0.0;
    offset = fmin(fmax(offset, -0.5), 0.5);
    *height = power[0] * exp(0.5 * offset * (after - before) + 0.5 * offset * offset * bend);
    return offset;
}

enum sh_status
sh_psd_find_peak(const struct sh_psd *psd, double lo_hz, double hi_hz, struct sh_psd_peak *out)
{
    enum sh_status status = check_range(psd, lo_hz, hi_hz);
    if (status != SH_OK) {
        return status;
    }
    size_t first = (size_t)ceil(lo_hz / psd->bin_hz - 1e-9);
    size_t last = (size_t)floor(hi_hz / psd->bin_hz + 1e-9);
    last = last > psd->n_bins - 1 ? psd->n_bins - 1 : last;
    if (first > last) {
        return SH_ERR_ARGUMENT;
    }
    size_t top = first;
    for (size_t i = first; i <= last; i++) {
        top = psd->power[i] > psd->power[top] ? i : top;
    }
    const double *p = psd->power;
    if (!(p[top] > 0.0)) {
        return SH_ERR_SINGULAR;
    }
    struct sh_psd_peak peak = {.power = p[top], .is_edge = top == first || top == last};
    double offset = 0.0;
    if (!peak.is_edge && p[top - 1] > 0.0 && p[top + 1] > 0.0) {
        offset = refine(p + top, &peak.power);
    }
    double u = fmax(psd->half_band_hz, 0.5 * psd->bin_hz);
    peak.frequency_hz = sh_quantity_known(((double)top + offset) * psd->bin_hz, u);
    *out = peak;
    return SH_OK;
}
