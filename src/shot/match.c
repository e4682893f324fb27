/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shot/match.h"

#include <assert.h>
#include <math.h>

#define LAGS_MAX 161u /* of an alignment: 2.5 ms to both sides at 32 kHz */

static double get_square(const struct sh_match *match, const double *shape)
{
    double square = 0.0;
    for (size_t i = 0; i < match->n_axes * match->n_frames; i++) {
        square += shape[i] * shape[i];
    }
    return square;
}

/* Sum of products with other moved back by lag whole frames (negative: forward). */
static double
get_product(const struct sh_match *match, const double *shape, const double *other, long lag)
{
    const long n = (long)match->n_frames;
    double sum = 0.0;
    for (size_t a = 0; a < match->n_axes; a++) {
        const double *one = shape + a * match->n_frames;
        const double *two = other + a * match->n_frames;
        const long first = lag < 0 ? -lag : 0;
        const long end = lag > 0 ? n - lag : n;
        for (long i = first; i < end; i++) {
            sum += one[i] * two[i + lag];
        }
    }
    return sum;
}

double sh_match_get_top(const double *x, size_t n, size_t peak)
{
    if (peak == 0 || peak + 1 >= n) {
        return (double)peak;
    }
    const double before = x[peak - 1];
    const double after = x[peak + 1];
    const double bend = before - 2.0 * x[peak] + after;
    return bend < 0.0 ? (double)peak + 0.5 * (before - after) / bend : (double)peak;
}

double sh_match_align(const struct sh_match *match,
                      const double *shape,
                      const double *other,
                      double *lag)
{
    double product[LAGS_MAX] = {0.0};
    const long reach = (long)match->lag_max;
    const size_t n = 2 * match->lag_max + 1;
    assert(n <= LAGS_MAX);
    size_t best = 0;
    for (long k = -reach; k <= reach; k++) {
        const size_t at = (size_t)(k + reach);
        product[at] = get_product(match, shape, other, k);
        best = product[at] > product[best] ? at : best;
    }
    const double length = sqrt(get_square(match, shape) * get_square(match, other));
    *lag = sh_match_get_top(product, n, best) - (double)reach;
    return length > 0.0 ? product[best] / length : 0.0;
}

/* Straight between frames, 0 outside. */
static double get_between(const double *x, size_t n, double at)
{
    const double below = floor(at);
    if (below < 0.0 || below + 1.0 > (double)n - 1.0) {
        return 0.0;
    }
    const size_t i = (size_t)below;
    return x[i] + (at - below) * (x[i + 1] - x[i]);
}

double sh_match_get_amount(const struct sh_match *match,
                           const double *shape,
                           const double *other,
                           double lag)
{
    double sum = 0.0;
    for (size_t a = 0; a < match->n_axes; a++) {
        const double *two = other + a * match->n_frames;
        for (size_t i = 0; i < match->n_frames; i++) {
            sum += shape[a * match->n_frames + i] *
                   get_between(two, match->n_frames, (double)i + lag);
        }
    }
    return sum;
}

void sh_match_add_shifted(
    const struct sh_match *match, const double *other, double lag, double factor, double *sum)
{
    for (size_t a = 0; a < match->n_axes; a++) {
        const double *two = other + a * match->n_frames;
        for (size_t i = 0; i < match->n_frames; i++) {
            sum[a * match->n_frames + i] +=
                factor * get_between(two, match->n_frames, (double)i + lag);
        }
    }
}

void sh_match_filter(
    const struct sh_match *match, const double *axis, const double *x, size_t n, double *amount)
{
    for (size_t i = 0; i < n; i++) {
        const size_t length = n - i < match->n_frames ? n - i : match->n_frames;
        double sum = 0.0;
        for (size_t k = 0; k < length; k++) {
            sum += axis[k] * x[i + k];
        }
        amount[i] += sum;
    }
}

double sh_match_get_bend(const struct sh_match *match, const double *shape)
{
    double square = 0.0;
    for (size_t a = 0; a < match->n_axes; a++) {
        const double *one = shape + a * match->n_frames;
        for (size_t i = 1; i + 1 < match->n_frames; i++) {
            const double slope = 0.5 * (one[i + 1] - one[i - 1]);
            square += slope * slope;
        }
    }
    return sqrt(square);
}
