/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/coherence.h"

#include <math.h>

#include "base/units.h"
#include "signal/distribution.h"

/*
 * Correlation of the window with itself, lag samples on, over its squares. Sums over a whole
 * period of the Hann window (1 - cos)/2 have no closed form cut short, so they are summed.
 */
static double correlate_window(size_t n, size_t lag)
{
    double products = 0.0;
    double squares = 0.0;
    for (size_t i = 0; i < n; i++) {
        const double here = 0.5 - 0.5 * cos(2.0 * SH_PI * (double)i / (double)n);
        squares += here * here;
        if (i >= lag) {
            const double there = 0.5 - 0.5 * cos(2.0 * SH_PI * (double)(i - lag) / (double)n);
            products += here * there;
        }
    }
    return products / squares;
}

double sh_coherence_get_segments(const struct sh_welch_config *config, size_t n_segments)
{
    if (n_segments == 0 || config->n_overlap >= config->n_segment) {
        return 0.0;
    }
    const size_t step = config->n_segment - config->n_overlap;
    const double k = (double)n_segments;
    double widening = 1.0;
    for (size_t j = 1; j < n_segments && j * step < config->n_segment; j++) {
        const double r = correlate_window(config->n_segment, j * step);
        widening += 2.0 * (k - (double)j) / k * r * r;
    }
    return k / widening;
}

enum sh_status sh_coherence_get_threshold(double segments, double p, double *threshold)
{
    if (!(p > 0.0 && p < 1.0)) {
        return SH_ERR_ARGUMENT;
    }
    if (!(segments > 1.0)) {
        return SH_ERR_SHORT;
    }
    *threshold = -expm1(log(p) / (segments - 1.0));
    return SH_OK;
}

enum sh_status
sh_coherence_get_limits(double coherence, double segments, double level, double *lo, double *hi)
{
    if (!(level > 0.0 && level < 1.0) || !(coherence >= 0.0 && coherence <= 1.0)) {
        return SH_ERR_ARGUMENT;
    }
    if (!(segments > 2.0)) {
        return SH_ERR_SHORT;
    }
    const double variance = 1.0 / (2.0 * segments - 2.0);
    const double half =
        sh_distribution_get_normal_quantile(0.5 * (1.0 + level)) * sqrt(variance);
    const double z = atanh(sqrt(coherence)) - variance; /* infinite at 1 */
    const double root_lo = tanh(fmax(z - half, 0.0));
    const double root_hi = tanh(fmax(z + half, 0.0));
    double by_chance = 0.0;
    enum sh_status status =
        sh_coherence_get_threshold(segments, 0.5 * (1.0 - level), &by_chance);
    if (status != SH_OK) {
        return status;
    }
    *lo = coherence > by_chance ? root_lo * root_lo : 0.0;
    *hi = root_hi * root_hi;
    return SH_OK;
}
