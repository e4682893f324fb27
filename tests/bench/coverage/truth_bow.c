/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <complex.h>
#include <math.h>
#include <stdlib.h>

#include "base/units.h"
#include "bench/coverage/truth.h"

#define AXES         3u
#define GRAVITY_HZ   2000.0
#define PEAK_HZ      40000.0
#define HAND_HZ      16000.0
#define HAND_LEAD_S  0.5
#define SPECTRUM_MAX 8193u

struct axis {
    const struct sh_bow_signal *bow;
    size_t k;
};

static double get_axis(const void *context, double t_s)
{
    const struct axis *axis = context;
    double a_m_s2[AXES];
    sh_bow_signal_get_acceleration_m_s2(axis->bow, t_s, a_m_s2);
    return a_m_s2[axis->k];
}

static void find_gravity(const struct truth_draw *at, double gravity_m_s2[AXES])
{
    const double n = 0.5 * GRAVITY_HZ;
    for (size_t k = 0; k < AXES; k++) {
        const struct axis axis = {&at->draw->bow, k};
        gravity_m_s2[k] = 0.0;
        for (size_t i = 0; i < (size_t)n; i++) {
            gravity_m_s2[k] +=
                get_axis(&axis, at->release_s - 0.55 + ((double)i + 0.5) / GRAVITY_HZ) / n;
        }
    }
}

static double find_peak(const struct truth_draw *at, const double gravity_m_s2[AXES])
{
    double largest = 0.0;
    for (size_t i = 0; i < (size_t)(0.1 * PEAK_HZ); i++) {
        double a_m_s2[AXES];
        double sum = 0.0;
        sh_bow_signal_get_acceleration_m_s2(&at->draw->bow, at->release_s + (double)i / PEAK_HZ,
                                            a_m_s2);
        for (size_t k = 0; k < AXES; k++) {
            sum += (a_m_s2[k] - gravity_m_s2[k]) * (a_m_s2[k] - gravity_m_s2[k]);
        }
        largest = fmax(largest, sqrt(sum));
    }
    return largest;
}

/* ISO 5349-1:2001, annex A, in the s-domain. */
static double complex get_weight(double f_hz)
{
    const double complex s = (double complex)I * 2.0 * SH_PI * f_hz;
    const double w1 = 2.0 * SH_PI * pow(10.0, 0.8);
    const double w2 = 2.0 * SH_PI * pow(10.0, 3.1);
    const double w4 = 100.0;
    const double complex band = s * s / (s * s + w1 * sqrt(2.0) * s + w1 * w1) * w2 * w2 /
                                (s * s + w2 * sqrt(2.0) * s + w2 * w2);
    return band * (s + w4) * w4 / (s * s + w4 / 0.64 * s + w4 * w4);
}

/* Mean square of one axis, weighted, over the second from the release. */
static enum sh_status find_weighted(struct truth_kit *kit,
                                    const struct truth_draw *at,
                                    size_t k,
                                    double gravity_m_s2,
                                    double *square)
{
    const size_t n = sh_fft_get_length(kit->fft);
    const size_t n_signal = (size_t)((HAND_LEAD_S + 1.0) * HAND_HZ);
    const size_t lead = (size_t)(HAND_LEAD_S * HAND_HZ);
    const struct axis axis = {&at->draw->bow, k};
    double *x = calloc(n, sizeof *x);
    double(*spectrum)[2] = calloc(sh_fft_get_bins(kit->fft), sizeof *spectrum);
    enum sh_status status = x != NULL && spectrum != NULL ? SH_OK : SH_ERR_MEMORY;
    for (size_t i = 0; status == SH_OK && i < n_signal; i++) {
        const double t_s = at->release_s + ((double)i + 0.5) / HAND_HZ - HAND_LEAD_S;
        x[i] = get_axis(&axis, t_s) - gravity_m_s2;
    }
    if (status == SH_OK) {
        status = sh_fft_forward(kit->fft, x, n, spectrum);
    }
    for (size_t i = 0; status == SH_OK && i < sh_fft_get_bins(kit->fft); i++) {
        const double complex y = (spectrum[i][0] + (double complex)I * spectrum[i][1]) *
                                 get_weight((double)i * HAND_HZ / (double)n);
        spectrum[i][0] = creal(y);
        spectrum[i][1] = cimag(y);
    }
    if (status == SH_OK) {
        status = sh_fft_inverse(kit->fft, spectrum, x);
    }
    *square = 0.0;
    for (size_t i = lead; status == SH_OK && i < n_signal; i++) {
        *square += x[i] * x[i] / (double)(n_signal - lead);
    }
    free(x);
    free(spectrum);
    return status;
}

static void
find_tremor(struct truth_kit *kit, const struct truth_draw *at, struct truth_figures *out)
{
    static const size_t place[3] = {SH_MEASURE_BOW_TREMOR_RMS_FIRST,
                                    SH_MEASURE_BOW_TREMOR_PEAK_FIRST,
                                    SH_MEASURE_BOW_TREMOR_BAND_FIRST};
    static double power[SPECTRUM_MAX];
    const double from_s = at->full_draw_s + 0.25;
    const double until_s = at->c_s - 0.05;
    struct sh_psd psd = {.n_bins = 0};
    for (size_t k = 0; k < AXES; k++) {
        const struct axis axis = {&at->draw->bow, k};
        const struct signal signal = {get_axis, &axis};
        if (until_s - from_s < 1.0 ||
            !truth_run_spectrum(kit, &signal, from_s, until_s, &psd)) {
            return;
        }
        for (size_t i = 0; i < psd.n_bins && i < SPECTRUM_MAX; i++) {
            power[i] = psd.power[i] + (k == 0 ? 0.0 : power[i]);
        }
    }
    psd.power = power;
    truth_set_tremor(&psd, place, out);
}

enum sh_status
truth_find_bow(struct truth_kit *kit, const struct truth_draw *at, struct truth_figures *out)
{
    double gravity_m_s2[AXES];
    double sum = 0.0;
    find_gravity(at, gravity_m_s2);
    truth_set(out, SH_MEASURE_VIBRATION_PEAK_FIRST, find_peak(at, gravity_m_s2));
    for (size_t k = 0; k < AXES; k++) {
        double square = 0.0;
        const enum sh_status status = find_weighted(kit, at, k, gravity_m_s2[k], &square);
        if (status != SH_OK) {
            return status;
        }
        sum += square;
    }
    truth_set(out, SH_MEASURE_HAND_VIBRATION_FIRST, sqrt(sum));
    truth_set(out, SH_MEASURE_RING_FIRST, at->truth->ring_hz);
    truth_set(out, SH_MEASURE_RING_DAMPING_FIRST, at->truth->ring_damping);
    find_tremor(kit, at, out);
    return SH_OK;
}
