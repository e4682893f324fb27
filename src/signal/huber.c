/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/huber.h"

#include <math.h>

#include "signal/finite.h"
#include "signal/stats.h"

/* Median size of normal numbers over their SD: Phi^-1(3/4). */
#define MEDIAN_SIZE 0.6744897501960817

/* Sizes of residuals up to this share of the largest input are rounding, not scatter. */
#define ROUNDING 1e-14

/* What the weights did at a step. */
struct weighing {
    double scale;
    size_t n_limited;
    double psi_squares; /* sum of psi(r / scale)^2 */
};

/* Scale of rest[n] about 0; work[n]. */
static double get_scale(const double *rest, size_t n, double *work)
{
    for (size_t i = 0; i < n; i++) {
        work[i] = fabs(rest[i]);
    }
    return sh_stats_select_median(work, n) / MEDIAN_SIZE;
}

static double get_weight(double rest, double scale)
{
    const double size = fabs(rest) / scale;
    return size <= SH_HUBER_K ? 1.0 : SH_HUBER_K / size;
}

static struct weighing weigh(const double *rest, size_t n, double scale)
{
    struct weighing w = {.scale = scale};
    for (size_t i = 0; i < n; i++) {
        const double weight = get_weight(rest[i], scale);
        const double psi = weight * rest[i] / scale;
        w.n_limited += weight < 1.0 ? 1 : 0;
        w.psi_squares += psi * psi;
    }
    return w;
}

/* Variance that stands in for s^2 in the least-squares covariance; n_terms were fitted. */
static double get_variance(const struct weighing *w, size_t n, size_t n_terms)
{
    const double share = (double)(n - w->n_limited) / (double)n;
    const double p = (double)n_terms;
    const double k = 1.0 + p / (double)n * (1.0 - share) / share;
    const double squares = w->scale * w->scale * w->psi_squares / ((double)n - p);
    return k * k * squares / (share * share);
}

static double get_largest(const double *x, size_t n)
{
    double largest = 0.0;
    for (size_t i = 0; i < n; i++) {
        largest = fmax(largest, fabs(x[i]));
    }
    return largest;
}

enum sh_status sh_huber_find_location(const double *x,
                                      size_t n,
                                      double *work,
                                      struct sh_huber_location *location)
{
    if (n < 2) {
        return SH_ERR_SHORT;
    }
    double *rest = work;
    double value = 0.0;
    enum sh_status status = sh_stats_get_median(x, n, work, &value, NULL);
    if (status != SH_OK) {
        return status;
    }
    const double least_scale = ROUNDING * get_largest(x, n);
    for (size_t step = 1; step <= SH_HUBER_STEPS_MAX; step++) {
        for (size_t i = 0; i < n; i++) {
            rest[i] = x[i] - value;
        }
        const double scale = get_scale(rest, n, work + n);
        if (!isfinite(scale)) {
            return SH_ERR_NOT_FINITE;
        }
        if (!(scale > least_scale)) {
            *location = (struct sh_huber_location){.value = value, .n_steps = step};
            return SH_OK;
        }
        double weights = 0.0;
        double sum = 0.0;
        for (size_t i = 0; i < n; i++) {
            const double weight = get_weight(rest[i], scale);
            weights += weight;
            sum += weight * rest[i];
        }
        const double change = sum / weights;
        value += change;
        if (fabs(change) <= SH_HUBER_CHANGE * scale) {
            const struct weighing w = weigh(rest, n, scale);
            const double u = sqrt(get_variance(&w, n, 1) / (double)n);
            *location = (struct sh_huber_location){value, u, scale, step, w.n_limited};
            return isfinite(u) ? SH_OK : SH_ERR_SINGULAR;
        }
    }
    return SH_ERR_SINGULAR;
}

/* A line in x - centre. */
struct trial {
    double centre;
    double value;
    double slope;
};

/* One weighted step from the residuals of the trial; how far the line moved at the points. */
static double
step_line(const double *x, const double *rest, size_t n, double scale, struct trial *trial)
{
    double w_sum = 0.0;
    double wx = 0.0;
    double wr = 0.0;
    for (size_t i = 0; i < n; i++) {
        const double w = scale > 0.0 ? get_weight(rest[i], scale) : 1.0;
        w_sum += w;
        wx += w * (x[i] - trial->centre);
        wr += w * rest[i];
    }
    const double x_mean = wx / w_sum;
    double wxx = 0.0;
    double wxr = 0.0;
    for (size_t i = 0; i < n; i++) {
        const double w = scale > 0.0 ? get_weight(rest[i], scale) : 1.0;
        const double d = x[i] - trial->centre - x_mean;
        wxx += w * d * d;
        wxr += w * d * rest[i];
    }
    const double slope = wxr / wxx;
    const double value = wr / w_sum - slope * x_mean;
    trial->slope += slope;
    trial->value += value;
    double most = 0.0;
    for (size_t i = 0; i < n; i++) {
        most = fmax(most, fabs(value + slope * (x[i] - trial->centre)));
    }
    return most;
}

static void
take_off(const double *x, const double *y, size_t n, const struct trial *t, double *rest)
{
    for (size_t i = 0; i < n; i++) {
        rest[i] = y[i] - t->value - t->slope * (x[i] - t->centre);
    }
}

static double sum_x_squares(const double *x, size_t n, double centre)
{
    double squares = 0.0;
    for (size_t i = 0; i < n; i++) {
        squares += (x[i] - centre) * (x[i] - centre);
    }
    return squares;
}

static enum sh_status finish_line(const struct trial *t,
                                  double variance,
                                  size_t n,
                                  double x_squares,
                                  struct sh_huber_line *line)
{
    line->slope = t->slope;
    line->slope_u = sqrt(variance / x_squares);
    line->centre = t->centre;
    line->value = t->value;
    line->value_u = sqrt(variance / (double)n);
    line->intercept = t->value - t->slope * t->centre;
    line->intercept_u = hypot(line->value_u, line->slope_u * t->centre);
    return isfinite(line->intercept) && isfinite(variance) ? SH_OK : SH_ERR_SINGULAR;
}

static enum sh_status start_line(const double *x, const double *y, size_t n, struct trial *t)
{
    if (n < 3) {
        return SH_ERR_SHORT;
    }
    if (!sh_finite_is_all(x, n) || !sh_finite_is_all(y, n)) {
        return SH_ERR_NOT_FINITE;
    }
    enum sh_status status = sh_stats_get_mean(x, n, &t->centre, NULL);
    if (status != SH_OK) {
        return status;
    }
    (void)step_line(x, y, n, 0.0, t);
    return isfinite(t->slope) && isfinite(t->value) ? SH_OK : SH_ERR_SINGULAR;
}

enum sh_status sh_huber_fit_line(
    const double *x, const double *y, size_t n, double *work, struct sh_huber_line *line)
{
    struct trial trial = {0};
    enum sh_status status = start_line(x, y, n, &trial);
    if (status != SH_OK) {
        return status;
    }
    double *rest = work;
    struct sh_huber_line got = {0};
    const double x_squares = sum_x_squares(x, n, trial.centre);
    const double least_scale = ROUNDING * get_largest(y, n);
    for (size_t step = 1; step <= SH_HUBER_STEPS_MAX; step++) {
        take_off(x, y, n, &trial, rest);
        const double scale = get_scale(rest, n, work + n);
        got.n_steps = step;
        if (!(scale > least_scale)) {
            status = finish_line(&trial, 0.0, n, x_squares, &got);
            break;
        }
        got.scale = scale;
        status = SH_ERR_SINGULAR;
        if (step_line(x, rest, n, scale, &trial) <= SH_HUBER_CHANGE * scale) {
            const struct weighing w = weigh(rest, n, scale);
            got.n_limited = w.n_limited;
            status = finish_line(&trial, get_variance(&w, n, 2), n, x_squares, &got);
            break;
        }
    }
    if (status == SH_OK) {
        *line = got;
    }
    return status;
}
