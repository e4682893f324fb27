/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/hand_arm.h"

#include <complex.h>
#include <math.h>
#include <stdlib.h>

#include "base/units.h"
#include "signal/fft.h"
#include "signal/finite.h"

/* ISO 5349-1:2001, table A.1; the corner frequencies are 10^0.8, 10^3.1 and 100 / 2 pi Hz. */
#define HIGHPASS_HZ 6.309573444801932
#define LOWPASS_HZ  1258.925411794167
#define STEP_HZ     15.91549430918954
#define BAND_Q      0.7071067811865476
#define STEP_Q      0.64
#define N_SECTIONS  3u
#define N_MAX       (SH_FFT_LENGTH_MAX / 4u)

struct sh_hand_arm {
    size_t n_max;
    struct sh_fft *fft;
    double (*spectrum)[2]; /* [bins of the transform] */
    double *weighted;      /* [its length] */
};

/* An analog section (n2 s^2 + n1 s + n0) / (s^2 + (w0 / q) s + w0^2). */
struct analog {
    double n2;
    double n1;
    double n0;
    double w0;
    double q;
};

static void fill_analog(struct analog *sections)
{
    double high = 2.0 * SH_PI * HIGHPASS_HZ;
    double low = 2.0 * SH_PI * LOWPASS_HZ;
    double step = 2.0 * SH_PI * STEP_HZ;
    sections[0] = (struct analog){1.0, 0.0, 0.0, high, BAND_Q};
    sections[1] = (struct analog){0.0, 0.0, low * low, low, BAND_Q};
    sections[2] = (struct analog){0.0, step, step * step, step, STEP_Q};
}

/* What the weighting makes of a tone: its gain and its lag. */
static double complex get_response(double f_hz)
{
    struct analog sections[N_SECTIONS];
    const double complex s = 2.0 * SH_PI * f_hz * (double complex)I;
    double complex response = 1.0;
    fill_analog(sections);
    for (size_t i = 0; i < N_SECTIONS; i++) {
        const struct analog *a = &sections[i];
        response *=
            (a->n2 * s * s + a->n1 * s + a->n0) / (s * s + a->w0 / a->q * s + a->w0 * a->w0);
    }
    return response;
}

double sh_hand_arm_get_gain(double f_hz)
{
    return cabs(get_response(f_hz));
}

/* A power of two that leaves a quarter of the window or more behind it. */
static size_t get_padded(size_t n)
{
    size_t padded = 1;
    while (padded < n + n / 4u) {
        padded *= 2u;
    }
    return padded;
}

enum sh_status sh_hand_arm_open(size_t n_max, struct sh_hand_arm **out, struct sh_error *err)
{
    if (n_max < 1 || n_max > N_MAX) {
        return sh_error_set(err, SH_ERR_ARGUMENT, "hand-arm weighting", "take a shorter window",
                            "a window of %zu samples", n_max);
    }
    struct sh_hand_arm *hand_arm = calloc(1, sizeof *hand_arm);
    if (hand_arm == NULL) {
        return sh_error_set(err, SH_ERR_MEMORY, "hand-arm weighting", NULL, "no memory");
    }
    hand_arm->n_max = n_max;
    enum sh_status status = sh_fft_open(get_padded(n_max), &hand_arm->fft, err);
    if (status == SH_OK) {
        const size_t n_bins = sh_fft_get_bins(hand_arm->fft);
        hand_arm->spectrum = calloc(n_bins, sizeof *hand_arm->spectrum);
        hand_arm->weighted = calloc(get_padded(n_max), sizeof *hand_arm->weighted);
        if (hand_arm->spectrum == NULL || hand_arm->weighted == NULL) {
            status = sh_error_set(err, SH_ERR_MEMORY, "hand-arm weighting", NULL, "no memory");
        }
    }
    if (status == SH_OK) {
        *out = hand_arm;
    } else {
        sh_hand_arm_close(&hand_arm);
    }
    return status;
}

void sh_hand_arm_close(struct sh_hand_arm **hand_arm)
{
    if (hand_arm == NULL || *hand_arm == NULL) {
        return;
    }
    sh_fft_close(&(*hand_arm)->fft);
    free((*hand_arm)->spectrum);
    free((*hand_arm)->weighted);
    free(*hand_arm);
    *hand_arm = NULL;
}

/* Puts the weighting into the spectrum. */
static void weigh(struct sh_hand_arm *hand_arm, double rate_hz)
{
    const size_t n_fft = sh_fft_get_length(hand_arm->fft);
    const size_t n_bins = sh_fft_get_bins(hand_arm->fft);
    for (size_t i = 0; i < n_bins; i++) {
        double *bin = hand_arm->spectrum[i];
        const double complex y = (bin[0] + bin[1] * (double complex)I) *
                                 get_response((double)i * rate_hz / (double)n_fft);
        bin[0] = creal(y);
        bin[1] = cimag(y);
    }
}

enum sh_status sh_hand_arm_get_rms(
    struct sh_hand_arm *hand_arm, const double *x, size_t n, double rate_hz, double *rms_m_s2)
{
    if (!(rate_hz >= SH_HAND_ARM_RATE_MIN_HZ && rate_hz <= SH_HAND_ARM_RATE_MAX_HZ) ||
        n > hand_arm->n_max) {
        return SH_ERR_ARGUMENT;
    }
    if (n == 0) {
        return SH_ERR_SHORT;
    }
    enum sh_status status = sh_fft_forward(hand_arm->fft, x, n, hand_arm->spectrum);
    if (status != SH_OK) {
        return status;
    }
    weigh(hand_arm, rate_hz);
    status = sh_fft_inverse(hand_arm->fft, hand_arm->spectrum, hand_arm->weighted);
    double sum = 0.0;
    for (size_t i = 0; i < n && status == SH_OK; i++) {
        sum += hand_arm->weighted[i] * hand_arm->weighted[i];
    }
    if (status == SH_OK) {
        *rms_m_s2 = sqrt(sum / (double)n);
    }
    return status;
}

enum sh_status sh_hand_arm_get_exposure(const double *total_m_s2,
                                        const double *exposure_s,
                                        size_t n,
                                        double *a8_m_s2)
{
    if (!sh_finite_is_all(total_m_s2, n) || !sh_finite_is_all(exposure_s, n)) {
        return SH_ERR_NOT_FINITE;
    }
    double sum = 0.0;
    for (size_t i = 0; i < n; i++) {
        if (total_m_s2[i] < 0.0 || exposure_s[i] < 0.0) {
            return SH_ERR_ARGUMENT;
        }
        sum += total_m_s2[i] * total_m_s2[i] * exposure_s[i];
    }
    *a8_m_s2 = sqrt(sum / SH_HAND_ARM_DAY_S);
    return SH_OK;
}

enum sh_status sh_hand_arm_get_shots_exposure(double shot_m_s2, double n_shots, double *a8_m_s2)
{
    if (!isfinite(n_shots)) {
        return SH_ERR_NOT_FINITE;
    }
    const double exposure_s = n_shots * SH_HAND_ARM_SHOT_S;
    return sh_hand_arm_get_exposure(&shot_m_s2, &exposure_s, 1, a8_m_s2);
}
