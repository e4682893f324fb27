/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/hand_arm.h"

#include <complex.h>
#include <math.h>
#include <string.h>

#include "base/units.h"
#include "signal/finite.h"

/* ISO 5349-1:2001, table A.1; the corner frequencies are 10^0.8, 10^3.1 and 100 / 2 pi Hz. */
#define HIGHPASS_HZ 6.309573444801932
#define LOWPASS_HZ  1258.925411794167
#define STEP_HZ     15.91549430918954
#define BAND_Q      0.7071067811865476
#define STEP_Q      0.64
#define N_SECTIONS  3u

/*
 * Frequencies, in units of the rate, at which the digital gain is made the analog one; found by
 * a random search for the smallest worst error up to the lesser of 0.45 rate and 1600 Hz over
 * rates of 2.5 to 48 kHz.
 */
static const double step_match[2] = {0.0765, 0.240};
static const double band_match[2] = {0.298, 0.436};

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

static double get_analog_gain(const struct analog *a, double f_hz)
{
    double w = 2.0 * SH_PI * f_hz;
    double complex s = w * (double complex)I;
    return cabs((a->n2 * s * s + a->n1 * s + a->n0) /
                (s * s + a->w0 / a->q * s + a->w0 * a->w0));
}

double sh_hand_arm_get_gain(double f_hz)
{
    struct analog sections[N_SECTIONS];
    fill_analog(sections);
    double gain = 1.0;
    for (size_t i = 0; i < N_SECTIONS; i++) {
        gain *= get_analog_gain(&sections[i], f_hz);
    }
    return gain;
}

/*
 * Squared size of a second-order polynomial in 1/z with coefficients c is
 * c0 (1 - p) + c1 p + 4 c2 p (1 - p), p = sin^2(pi f / rate).
 */
struct size_form {
    double c0;
    double c1;
    double c2;
};

static double get_size2(const struct size_form *form, double f_per_rate)
{
    double p = sin(SH_PI * f_per_rate) * sin(SH_PI * f_per_rate);
    return form->c0 * (1.0 - p) + form->c1 * p + 4.0 * form->c2 * p * (1.0 - p);
}

static struct size_form get_form(double c0, double c1, double c2)
{
    return (struct size_form){(c0 + c1 + c2) * (c0 + c1 + c2), (c0 - c1 + c2) * (c0 - c1 + c2),
                              -4.0 * c0 * c2};
}

/* The section's poles by the exact map; numerator 1. */
static struct sh_biquad_section map_poles(const struct analog *a, double rate_hz)
{
    double damp = exp(-0.5 * a->w0 / a->q / rate_hz);
    double root2 = 1.0 - 0.25 / (a->q * a->q);
    double turn = a->w0 / rate_hz * sqrt(fabs(root2));
    double a1 = -2.0 * damp * (root2 >= 0.0 ? cos(turn) : cosh(turn));
    return (struct sh_biquad_section){.b0 = 1.0, .a1 = a1, .a2 = damp * damp};
}

/* The double zero of the high-pass section, with the analog gain at a quarter of the rate. */
static void
set_highpass_zeros(const struct analog *a, double rate_hz, struct sh_biquad_section *s)
{
    struct size_form poles = get_form(1.0, s->a1, s->a2);
    double g = 0.5 * get_analog_gain(a, 0.25 * rate_hz) * sqrt(get_size2(&poles, 0.25));
    s->b0 = g;
    s->b1 = -2.0 * g;
    s->b2 = g;
}

/* Zeros that give gain 1 at 0 and the given ones at two frequencies (in units of the rate). */
static void
match_zeros(const double *f_per_rate, const double *gain, struct sh_biquad_section *s)
{
    struct size_form poles = get_form(1.0, s->a1, s->a2);
    double first[2];
    double second[2];
    double right[2];
    for (size_t k = 0; k < 2; k++) {
        double p = sin(SH_PI * f_per_rate[k]) * sin(SH_PI * f_per_rate[k]);
        first[k] = p;
        second[k] = 4.0 * p * (1.0 - p);
        right[k] = gain[k] * gain[k] * get_size2(&poles, f_per_rate[k]) - poles.c0 * (1.0 - p);
    }
    double det = first[0] * second[1] - first[1] * second[0];
    double c1 = fmax((right[0] * second[1] - right[1] * second[0]) / det, 0.0);
    double c2 = (first[0] * right[1] - first[1] * right[0]) / det;
    double sum = 0.5 * (sqrt(poles.c0) + sqrt(c1));
    s->b0 = 0.5 * (sum + sqrt(fmax(sum * sum + c2, 0.0)));
    s->b1 = 0.5 * (sqrt(poles.c0) - sqrt(c1));
    s->b2 = -0.25 * c2 / s->b0;
}

enum sh_status sh_hand_arm_make(double rate_hz, struct sh_biquad_design *out)
{
    if (!(rate_hz >= SH_HAND_ARM_RATE_MIN_HZ && rate_hz <= SH_HAND_ARM_RATE_MAX_HZ)) {
        return SH_ERR_ARGUMENT;
    }
    struct analog sections[N_SECTIONS];
    fill_analog(sections);
    memset(out, 0, sizeof(*out));
    out->n_sections = N_SECTIONS;
    for (size_t i = 0; i < N_SECTIONS; i++) {
        out->section[i] = map_poles(&sections[i], rate_hz);
    }
    set_highpass_zeros(&sections[0], rate_hz, &out->section[0]);
    double gain[2];
    for (size_t k = 0; k < 2; k++) {
        gain[k] = get_analog_gain(&sections[2], step_match[k] * rate_hz);
    }
    match_zeros(step_match, gain, &out->section[2]);
    /* the low-pass section also makes good what the transition section misses */
    struct sh_biquad_design step = {.n_sections = 1, .section = {out->section[2]}};
    for (size_t k = 0; k < 2; k++) {
        double f_hz = band_match[k] * rate_hz;
        gain[k] = get_analog_gain(&sections[1], f_hz) * get_analog_gain(&sections[2], f_hz) /
                  sh_biquad_get_gain(&step, f_hz, rate_hz);
    }
    match_zeros(band_match, gain, &out->section[1]);
    return SH_OK;
}

enum sh_status sh_hand_arm_get_rms(const double *x, size_t n, double rate_hz, double *rms_m_s2)
{
    struct sh_biquad_design design;
    enum sh_status status = sh_hand_arm_make(rate_hz, &design);
    if (status != SH_OK) {
        return status;
    }
    if (n == 0) {
        return SH_ERR_SHORT;
    }
    if (!sh_finite_is_all(x, n)) {
        return SH_ERR_NOT_FINITE;
    }
    struct sh_biquad filter;
    sh_biquad_init(&filter, &design);
    double squares = 0.0;
    for (size_t i = 0; i < n; i++) {
        double y = 0.0;
        status = sh_biquad_push(&filter, x + i, 1, &y);
        if (status != SH_OK) {
            return status;
        }
        squares += y * y;
    }
    *rms_m_s2 = sqrt(squares / (double)n);
    return SH_OK;
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
