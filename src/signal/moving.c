/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/moving.h"

#include <math.h>

#include "signal/finite.h"

#define WINDOW_MAX 2147483648.0

/* A sum with its running compensation (Neumaier 1974). */
struct running_sum {
    double sum;
    double compensation;
};

static void add_term(struct running_sum *s, double term)
{
    double t = s->sum + term;
    if (fabs(s->sum) >= fabs(term)) {
        s->compensation += (s->sum - t) + term;
    } else {
        s->compensation += (term - t) + s->sum;
    }
    s->sum = t;
}

size_t sh_moving_window(double window_s, double rate_hz)
{
    double n = window_s * rate_hz;
    if (!isfinite(window_s) || !isfinite(rate_hz) || window_s <= 0.0 || rate_hz <= 0.0 ||
        n > WINDOW_MAX) {
        return 0;
    }
    return n < 1.0 ? 1 : (size_t)llround(n);
}

enum sh_status sh_moving_sums(const double *x, size_t n, double *sums)
{
    if (n == 0) {
        return SH_ERR_SHORT;
    }
    if (!sh_finite_is_all(x, n)) {
        return SH_ERR_NOT_FINITE;
    }
    struct running_sum s = {0.0, 0.0};
    double x0 = x[0];
    sums[0] = 0.0;
    for (size_t i = 0; i < n; i++) {
        add_term(&s, x[i] - x0);
        sums[i + 1] = s.sum + s.compensation;
    }
    return SH_OK;
}

double sh_moving_sums_mean(const double *sums, double x0, size_t first, size_t n_window)
{
    return x0 + (sums[first + n_window] - sums[first]) / (double)n_window;
}

enum sh_status sh_moving_mean(const double *x, size_t n, size_t n_window, double *mean)
{
    if (n_window == 0) {
        return SH_ERR_ARGUMENT;
    }
    if (n < n_window) {
        return SH_ERR_SHORT;
    }
    if (!sh_finite_is_all(x, n)) {
        return SH_ERR_NOT_FINITE;
    }
    struct running_sum s = {0.0, 0.0};
    double x0 = x[0];
    for (size_t i = 0; i < n; i++) {
        add_term(&s, x[i] - x0);
        if (i + 1 >= n_window) {
            size_t first = i + 1 - n_window;
            mean[first] = x0 + (s.sum + s.compensation) / (double)n_window;
            add_term(&s, -(x[first] - x0));
        }
    }
    return SH_OK;
}

enum sh_status sh_moving_maximum(const double *x, size_t n, double *maximum)
{
    if (n == 0) {
        return SH_ERR_SHORT;
    }
    if (!sh_finite_is_all(x, n)) {
        return SH_ERR_NOT_FINITE;
    }
    double top = x[0];
    for (size_t i = 0; i < n; i++) {
        top = x[i] > top ? x[i] : top;
        maximum[i] = top;
    }
    return SH_OK;
}

enum sh_status sh_moving_find_fall(const double *x, size_t n, struct sh_moving_fall *out)
{
    if (n == 0) {
        return SH_ERR_SHORT;
    }
    if (!sh_finite_is_all(x, n)) {
        return SH_ERR_NOT_FINITE;
    }
    struct sh_moving_fall best = {0.0, 0, 0};
    size_t top = 0;
    for (size_t i = 1; i < n; i++) {
        if (x[i] > x[top]) {
            top = i;
        }
        if (x[top] - x[i] > best.fall) {
            best = (struct sh_moving_fall){x[top] - x[i], top, i};
        }
    }
    *out = best;
    return SH_OK;
}
