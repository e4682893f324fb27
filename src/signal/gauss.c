/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/gauss.h"

#include <math.h>
#include <stdlib.h>

#include "signal/finite.h"

#define SIGMA_MIN 0.5
#define ABREAST   8u /* samples whose sums are formed at once */

struct sh_gauss {
    size_t radius;
    double sum;      /* of the weights, both sides */
    double moment2;  /* sum of weight * distance^2, both sides */
    double *lever;   /* [radius + 1], weight times distance; behind weight */
    double weight[]; /* [radius + 1], weight[0] = 1 at the centre */
};

enum sh_status sh_gauss_open(double sigma, struct sh_gauss **out, struct sh_error *err)
{
    if (!(sigma >= SIGMA_MIN && sigma <= SH_GAUSS_SIGMA_MAX)) {
        return sh_error_set(err, SH_ERR_ARGUMENT, "smoothing", "give 0.5 to 100000 samples",
                            "sigma is %g samples", sigma);
    }
    size_t radius = (size_t)(SH_GAUSS_REACH * sigma);
    struct sh_gauss *gauss =
        malloc(sizeof(*gauss) + 2 * (radius + 1) * sizeof(gauss->weight[0]));
    if (gauss == NULL) {
        return sh_error_set(err, SH_ERR_MEMORY, "smoothing", NULL, "no memory for %zu weights",
                            radius + 1);
    }
    gauss->radius = radius;
    gauss->sum = 0.0;
    gauss->moment2 = 0.0;
    gauss->lever = gauss->weight + radius + 1;
    for (size_t j = radius + 1; j-- > 0;) { /* small terms first */
        double t = (double)j;
        double sides = j == 0 ? 1.0 : 2.0;
        gauss->weight[j] = exp(-0.5 * (t / sigma) * (t / sigma));
        gauss->lever[j] = gauss->weight[j] * t;
        gauss->sum += sides * gauss->weight[j];
        gauss->moment2 += sides * gauss->weight[j] * t * t;
    }
    *out = gauss;
    return SH_OK;
}

void sh_gauss_close(struct sh_gauss **gauss)
{
    if (gauss == NULL) {
        return;
    }
    free(*gauss);
    *gauss = NULL;
}

size_t sh_gauss_get_radius(const struct sh_gauss *gauss)
{
    return gauss->radius;
}

/* Weighted moments of the samples around one sample, values taken relative to it. */
struct line_sums {
    double w, wt, wtt, wx, wtx;
};

static void add_sample(struct line_sums *s, double weight, double lever, double t, double x)
{
    s->w += weight;
    s->wt += lever;
    s->wtt += lever * t;
    s->wx += weight * x;
    s->wtx += lever * x;
}

/* Both sides present: odd moments vanish and the line separates into value and slope. */
static double get_centre_value(const struct sh_gauss *g, const double *x)
{
    double even = 0.0;
    for (size_t j = g->radius; j >= 1; j--) {
        even += g->weight[j] * ((x[j] - x[0]) + (*(x - j) - x[0]));
    }
    return x[0] + even / g->sum;
}

static double get_centre_slope(const struct sh_gauss *g, const double *x)
{
    double odd = 0.0;
    for (size_t j = g->radius; j >= 1; j--) {
        odd += g->lever[j] * (x[j] - *(x - j));
    }
    return odd / g->moment2;
}

/* Slopes at ABREAST samples at once, each added up as get_centre_slope does. */
static void get_centre_slopes(const struct sh_gauss *g, const double *x, double *slope)
{
    double odd[ABREAST] = {0.0};
    for (size_t j = g->radius; j >= 1; j--) {
        const double *after = x + j;
        const double *before = x - j;
        for (size_t k = 0; k < ABREAST; k++) {
            odd[k] += g->lever[j] * (after[k] - before[k]);
        }
    }
    for (size_t k = 0; k < ABREAST; k++) {
        slope[k] = odd[k] / g->moment2;
    }
}

static void fit_edge(const struct sh_gauss *g, const double *x, size_t n, size_t i, double *fit)
{
    size_t first = i > g->radius ? i - g->radius : 0;
    size_t last = n - 1 - i > g->radius ? i + g->radius : n - 1;
    struct line_sums s = {0.0, 0.0, 0.0, 0.0, 0.0};
    for (size_t j = first; j < i; j++) {
        size_t distance = i - j;
        add_sample(&s, g->weight[distance], -g->lever[distance], -(double)distance,
                   x[j] - x[i]);
    }
    for (size_t j = i; j <= last; j++) {
        size_t distance = j - i;
        add_sample(&s, g->weight[distance], g->lever[distance], (double)distance, x[j] - x[i]);
    }
    double det = s.w * s.wtt - s.wt * s.wt;
    fit[0] = x[i];
    fit[1] = 0.0;
    if (last > first) {
        fit[0] = x[i] + (s.wtt * s.wx - s.wt * s.wtx) / det;
        fit[1] = (s.w * s.wtx - s.wt * s.wx) / det;
    }
}

/* fit[0] value, fit[1] slope; i < n, all finite. */
static void fit_line(const struct sh_gauss *g, const double *x, size_t n, size_t i, double *fit)
{
    if (i >= g->radius && n - 1 - i >= g->radius) {
        fit[0] = get_centre_value(g, x + i);
        fit[1] = get_centre_slope(g, x + i);
    } else {
        fit_edge(g, x, n, i, fit);
    }
}

enum sh_status sh_gauss_get_at(const struct sh_gauss *gauss,
                               const double *x,
                               size_t n,
                               size_t i,
                               double *value,
                               double *slope)
{
    if (i >= n) {
        return SH_ERR_ARGUMENT;
    }
    if (slope != NULL && n < 2) {
        return SH_ERR_SHORT;
    }
    size_t first = i > gauss->radius ? i - gauss->radius : 0;
    size_t last = n - 1 - i > gauss->radius ? i + gauss->radius : n - 1;
    if (!sh_finite_is_all(x + first, last - first + 1)) {
        return SH_ERR_NOT_FINITE;
    }
    double fit[2];
    fit_line(gauss, x, n, i, fit);
    if (value != NULL) {
        *value = fit[0];
    }
    if (slope != NULL) {
        *slope = fit[1];
    }
    return SH_OK;
}

enum sh_status
sh_gauss_smooth(const struct sh_gauss *gauss, const double *x, size_t n, double *y)
{
    if (n == 0) {
        return SH_ERR_SHORT;
    }
    if (!sh_finite_is_all(x, n)) {
        return SH_ERR_NOT_FINITE;
    }
    for (size_t i = 0; i < n; i++) {
        double fit[2];
        fit_line(gauss, x, n, i, fit);
        y[i] = fit[0];
    }
    return SH_OK;
}

enum sh_status sh_gauss_slope(
    const struct sh_gauss *gauss, const double *x, size_t n, double rate_hz, double *slope)
{
    if (!(rate_hz > 0.0) || !isfinite(rate_hz)) {
        return SH_ERR_ARGUMENT;
    }
    if (n < 2) {
        return SH_ERR_SHORT;
    }
    if (!sh_finite_is_all(x, n)) {
        return SH_ERR_NOT_FINITE;
    }
    size_t i = 0;
    while (i < n) {
        if (i >= gauss->radius && i + ABREAST - 1 + gauss->radius < n) {
            get_centre_slopes(gauss, x + i, slope + i);
            i += ABREAST;
        } else {
            double fit[2];
            fit_line(gauss, x, n, i, fit);
            slope[i++] = fit[1];
        }
    }
    for (i = 0; i < n; i++) {
        slope[i] *= rate_hz;
    }
    return SH_OK;
}

double sh_gauss_get_slope_noise(const struct sh_gauss *gauss, double rate_hz)
{
    double sum = 0.0;
    for (size_t j = gauss->radius; j >= 1; j--) {
        double c = gauss->weight[j] * (double)j;
        sum += 2.0 * c * c;
    }
    return rate_hz * sqrt(sum) / gauss->moment2;
}

double sh_gauss_get_value_noise(const struct sh_gauss *gauss)
{
    double sum = 0.0;
    for (size_t j = gauss->radius; j >= 1; j--) {
        sum += 2.0 * gauss->weight[j] * gauss->weight[j];
    }
    return sqrt(sum + 1.0) / gauss->sum;
}
