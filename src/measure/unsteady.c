/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "measure/unsteady.h"

#include <math.h>

#include "base/units.h"
#include "measure/workspace.h"

#define SLOW_RAD                                                                               \
    1e-3 /* below it the slope's gain is w to 1e-7, and its formula loses digits               \
          */

/* Sets the bins below 2 Hz to the mean of those from 2 to 4 Hz. */
static void continue_below(double *power, size_t n_bins, double bin_hz)
{
    double sum = 0.0;
    double n = 0.0;
    for (size_t i = 0; i < n_bins; i++) {
        const double f_hz = (double)i * bin_hz;
        const bool is_flank = f_hz >= SH_UNSTEADY_LOW_HZ && f_hz < SH_UNSTEADY_FLANK_HZ;
        sum += is_flank ? power[i] : 0.0;
        n += is_flank ? 1.0 : 0.0;
    }
    const double level = n > 0.0 ? sum / n : 0.0;
    for (size_t i = 0; i < n_bins && (double)i * bin_hz < SH_UNSTEADY_LOW_HZ; i++) {
        power[i] = level;
    }
}

void sh_unsteady_set(struct sh_unsteady *unsteady, const struct sh_psd *psd, double *power)
{
    const double white_n2 = unsteady->white_n * unsteady->white_n;
    const double floor_n2_per_hz = 2.0 * white_n2 / unsteady->rate_hz;
    size_t n_bins = (size_t)floor(SH_UNSTEADY_HIGH_HZ / psd->bin_hz) + 1u;
    n_bins = n_bins < psd->n_bins ? n_bins : psd->n_bins;
    n_bins = n_bins < SH_WORKSPACE_BINS_MAX ? n_bins : SH_WORKSPACE_BINS_MAX;
    for (size_t i = 0; i < n_bins; i++) {
        const double above = psd->power[i] - floor_n2_per_hz;
        power[i] = above > 0.0 ? above : 0.0;
    }
    continue_below(power, n_bins, psd->bin_hz);
    unsteady->power = power;
    unsteady->n_bins = n_bins;
    unsteady->bin_hz = psd->bin_hz;
}

/* exp(j i angle), turned on from bin to bin: rounding grows to some 1e-13 over all bins. */
struct turn {
    double cosine;
    double sine;
    double step_cosine;
    double step_sine;
    double angle; /* of a step */
};

static struct turn start_turn(double angle)
{
    return (struct turn){1.0, 0.0, cos(angle), sin(angle), angle};
}

static void step_turn(struct turn *turn)
{
    const double cosine = turn->cosine * turn->step_cosine - turn->sine * turn->step_sine;
    turn->sine = turn->sine * turn->step_cosine + turn->cosine * turn->step_sine;
    turn->cosine = cosine;
}

/* Gain at bin i of the mean whose half length is turned. */
static double get_mean_gain(const struct turn *turn, size_t i)
{
    const double x = (double)i * turn->angle;
    return x > 0.0 ? turn->sine / x : 1.0;
}

static double get_white_mean(const struct sh_unsteady *unsteady, double length_s)
{
    const double n = fmax(length_s * unsteady->rate_hz, 1.0);
    return unsteady->white_n * unsteady->white_n / n;
}

double sh_unsteady_get_variance(const struct sh_unsteady *unsteady,
                                double a_s,
                                double b_s,
                                double lag_s)
{
    double sum = 0.0;
    struct turn turn_a = start_turn(SH_PI * unsteady->bin_hz * a_s);
    struct turn turn_b = start_turn(SH_PI * unsteady->bin_hz * b_s);
    struct turn lag = start_turn(2.0 * SH_PI * unsteady->bin_hz * lag_s);
    for (size_t i = 0; i < unsteady->n_bins; i++) {
        const double a = get_mean_gain(&turn_a, i);
        const double b = b_s > 0.0 ? get_mean_gain(&turn_b, i) : 0.0;
        const double gain2 = a * a + b * b - 2.0 * a * b * lag.cosine;
        sum += unsteady->power[i] * gain2;
        step_turn(&turn_a);
        step_turn(&turn_b);
        step_turn(&lag);
    }
    const double white_b = b_s > 0.0 ? get_white_mean(unsteady, b_s) : 0.0;
    return sum * unsteady->bin_hz + get_white_mean(unsteady, a_s) + white_b;
}

/*
 * The slope is the integral of F(t) 12 t / T^3 over -T/2 .. T/2; its gain at w is
 * 24 / T^3 (sin(w T/2) / w^2 - (T/2) cos(w T/2) / w), and w itself where w T is small.
 */
static double get_slope_gain(double f_hz, double length_s)
{
    const double w = 2.0 * SH_PI * f_hz;
    if (w * length_s < SLOW_RAD) {
        return w;
    }
    const double half_s = 0.5 * length_s;
    const double inner = sin(w * half_s) / (w * w) - half_s * cos(w * half_s) / w;
    return 24.0 / (length_s * length_s * length_s) * inner;
}

double sh_unsteady_get_slope_variance(const struct sh_unsteady *unsteady, double length_s)
{
    double sum = 0.0;
    for (size_t i = 0; i < unsteady->n_bins; i++) {
        const double gain = get_slope_gain((double)i * unsteady->bin_hz, length_s);
        sum += unsteady->power[i] * gain * gain;
    }
    const double white = 12.0 * get_white_mean(unsteady, length_s) / (length_s * length_s);
    return sum * unsteady->bin_hz + white;
}
