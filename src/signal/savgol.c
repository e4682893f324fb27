/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/savgol.h"

#include <math.h>
#include <string.h>

#include "signal/finite.h"

/* Recurrence p_(k+1)(t) = t p_k(t) - b_k p_(k-1)(t) of monic polynomials orthogonal on the
 * window's positions, which lie evenly about 0 (so the middle coefficient vanishes). */
struct recurrence {
    double b[SH_SAVGOL_ORDER_MAX + 1];
    double norm[SH_SAVGOL_ORDER_MAX + 1]; /* sum of p_k^2 */
};

static double get_place(size_t i, size_t n_window)
{
    double half = 0.5 * (double)(n_window - 1);
    return ((double)i - half) / (half > 0.0 ? half : 1.0);
}

/* p[k] for k = 0 .. order at t. */
static void evaluate(const struct recurrence *r, size_t order, double t, double *p)
{
    p[0] = 1.0;
    for (size_t k = 0; k < order; k++) {
        p[k + 1] = t * p[k] - (k > 0 ? r->b[k] * p[k - 1] : 0.0);
    }
}

static void make_recurrence(size_t n_window, size_t order, struct recurrence *r)
{
    for (size_t k = 0; k <= order; k++) {
        r->norm[k] = 0.0;
        for (size_t i = 0; i < n_window; i++) {
            double p[SH_SAVGOL_ORDER_MAX + 1];
            evaluate(r, k, get_place(i, n_window), p);
            r->norm[k] += p[k] * p[k];
        }
        r->b[k] = k > 0 ? r->norm[k] / r->norm[k - 1] : 0.0;
    }
}

/* The given derivative of every p_k at t, by the recurrence differentiated. */
static void evaluate_derivative(
    const struct recurrence *r, size_t order, size_t derivative, double t, double *p)
{
    double lower[SH_SAVGOL_ORDER_MAX + 1];
    evaluate(r, order, t, p);
    for (size_t d = 1; d <= derivative; d++) {
        memcpy(lower, p, sizeof(lower));
        p[0] = 0.0;
        for (size_t k = 0; k < order; k++) {
            double rest = k > 0 ? r->b[k] * p[k - 1] : 0.0;
            p[k + 1] = (double)d * lower[k] + t * p[k] - rest;
        }
    }
}

enum sh_status
sh_savgol_make(const struct sh_savgol_config *config, double position, double *weights)
{
    size_t n = config->n_window;
    if (n > SH_SAVGOL_WINDOW_MAX || config->order > SH_SAVGOL_ORDER_MAX || n <= config->order ||
        config->derivative > config->order ||
        !(position >= 0.0 && position <= (double)(n - 1))) {
        return SH_ERR_ARGUMENT;
    }
    struct recurrence r;
    memset(&r, 0, sizeof(r));
    make_recurrence(n, config->order, &r);
    double half = n > 1 ? 0.5 * (double)(n - 1) : 1.0;
    double at[SH_SAVGOL_ORDER_MAX + 1] = {0.0};
    double t = (position - 0.5 * (double)(n - 1)) / half;
    evaluate_derivative(&r, config->order, config->derivative, t, at);
    double scale = pow(half, -(double)config->derivative);
    for (size_t i = 0; i < n; i++) {
        double p[SH_SAVGOL_ORDER_MAX + 1];
        evaluate(&r, config->order, get_place(i, n), p);
        double sum = 0.0;
        for (size_t k = 0; k <= config->order; k++) {
            sum += p[k] * at[k] / r.norm[k];
        }
        weights[i] = scale * sum;
    }
    return SH_OK;
}

static double weigh(const double *weights, const double *x, size_t n)
{
    double sum = 0.0;
    for (size_t i = 0; i < n; i++) {
        sum += weights[i] * x[i];
    }
    return sum;
}

enum sh_status sh_savgol_filter(const struct sh_savgol_config *config,
                                const struct sh_savgol_series *series,
                                double *work,
                                double *y)
{
    size_t w = config->n_window;
    size_t n = series->n;
    if (w % 2 == 0 || !(series->rate_hz > 0.0) || !isfinite(series->rate_hz)) {
        return SH_ERR_ARGUMENT;
    }
    size_t half = w / 2;
    enum sh_status status = sh_savgol_make(config, (double)half, work);
    if (status != SH_OK) {
        return status;
    }
    if (n < w) {
        return SH_ERR_SHORT;
    }
    if (!sh_finite_is_all(series->x, n)) {
        return SH_ERR_NOT_FINITE;
    }
    double scale = pow(series->rate_hz, (double)config->derivative);
    for (size_t i = half; i + half < n; i++) {
        y[i] = scale * weigh(work, series->x + i - half, w);
    }
    for (size_t i = 0; i < half && status == SH_OK; i++) {
        status = sh_savgol_make(config, (double)i, work);
        y[i] = scale * weigh(work, series->x, w);
    }
    for (size_t i = half + 1; i < w && status == SH_OK; i++) {
        status = sh_savgol_make(config, (double)i, work);
        y[n - w + i] = scale * weigh(work, series->x + n - w, w);
    }
    return status;
}
