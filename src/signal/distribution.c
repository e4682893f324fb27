/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/distribution.h"

#include <float.h>
#include <math.h>
#include <stdbool.h>

#include "base/units.h"
#include "signal/log_gamma.h"

#define TERMS_MAX    10000
#define HALVES_MAX   2200 /* from the largest double to the smallest */
#define HALLEY_MAX   4
#define QUANTILE_MAX 1e300 /* where the search for a quantile ends */

double sh_distribution_get_normal(double x)
{
    return 0.5 * erfc(-x * sqrt(0.5));
}

static bool is_inside(double probability)
{
    return probability > 0.0 && probability < 1.0;
}

static bool is_freedom(double freedom)
{
    return freedom > 0.0 && isfinite(freedom);
}

double sh_distribution_get_normal_quantile(double probability)
{
    if (!is_inside(probability)) {
        return (double)NAN;
    }
    /* the nearer tail, where nothing cancels */
    const bool is_upper = probability > 0.5;
    const double tail = is_upper ? 1.0 - probability : probability;
    const double t = sqrt(-2.0 * log(tail));
    double x = t - (2.515517 + t * (0.802853 + t * 0.010328)) /
                       (1.0 + t * (1.432788 + t * (0.189269 + t * 0.001308)));
    for (int i = 0; i < HALLEY_MAX; i++) {
        const double density = exp(-0.5 * x * x) / sqrt(2.0 * SH_PI);
        const double step = (0.5 * erfc(x * sqrt(0.5)) - tail) / density;
        x += step / (1.0 - 0.5 * x * step);
    }
    return is_upper ? x : -x;
}

static double avoid_zero(double x)
{
    return fabs(x) < DBL_MIN ? DBL_MIN : x;
}

/* The continued fraction of I_x(a, b); x up to (a + 1) / (a + b + 2). */
static double run_beta_fraction(double x, double a, double b)
{
    double c = 1.0;
    double d = 1.0 / avoid_zero(1.0 - (a + b) * x / (a + 1.0));
    double h = d;
    for (int i = 1; i < TERMS_MAX; i++) {
        const double m = (double)i;
        const double even = m * (b - m) * x / ((a + 2.0 * m - 1.0) * (a + 2.0 * m));
        d = 1.0 / avoid_zero(1.0 + even * d);
        c = avoid_zero(1.0 + even / c);
        h *= d * c;
        const double odd = -(a + m) * (a + b + m) * x / ((a + 2.0 * m) * (a + 2.0 * m + 1.0));
        d = 1.0 / avoid_zero(1.0 + odd * d);
        c = avoid_zero(1.0 + odd / c);
        h *= d * c;
        if (fabs(d * c - 1.0) < DBL_EPSILON) {
            break;
        }
    }
    return h;
}

/* I_x(a, b) with y = 1 - x given apart, so that neither end loses digits. */
static double get_beta_of(double x, double y, double a, double b)
{
    if (x <= 0.0 || y <= 0.0) {
        return x <= 0.0 ? 0.0 : 1.0;
    }
    const double front = exp(sh_log_gamma_get(a + b) - sh_log_gamma_get(a) -
                             sh_log_gamma_get(b) + a * log(x) + b * log(y));
    if (x < (a + 1.0) / (a + b + 2.0)) {
        return front * run_beta_fraction(x, a, b) / a;
    }
    return 1.0 - front * run_beta_fraction(y, b, a) / b;
}

double sh_distribution_get_beta(double x, double a, double b)
{
    if (!(x >= 0.0 && x <= 1.0 && is_freedom(a) && is_freedom(b))) {
        return (double)NAN;
    }
    return get_beta_of(x, 1.0 - x, a, b);
}

double sh_distribution_get_t_two_sided(double t, double freedom)
{
    if (isnan(t) || !is_freedom(freedom)) {
        return (double)NAN;
    }
    const double square = t * t;
    if (!isfinite(square)) {
        return 0.0;
    }
    const double all = freedom + square;
    return get_beta_of(freedom / all, square / all, 0.5 * freedom, 0.5);
}

double sh_distribution_get_t(double t, double freedom)
{
    const double tail = 0.5 * sh_distribution_get_t_two_sided(t, freedom);
    return t < 0.0 ? tail : 1.0 - tail;
}

double sh_distribution_get_f_upper(double f, double freedom1, double freedom2)
{
    if (!(f >= 0.0 && is_freedom(freedom1) && is_freedom(freedom2))) {
        return (double)NAN;
    }
    const double part = freedom1 * f;
    if (!isfinite(part)) {
        return 0.0;
    }
    const double all = freedom2 + part;
    return get_beta_of(freedom2 / all, part / all, 0.5 * freedom2, 0.5 * freedom1);
}

/* A falling function of x >= 0 whose zero is sought. */
struct falling {
    double (*get)(const struct falling *falling, double x);
    double freedom1;
    double freedom2;
    double target;
};

static double get_t_excess(const struct falling *falling, double x)
{
    return sh_distribution_get_t_two_sided(x, falling->freedom1) - falling->target;
}

static double get_f_excess(const struct falling *falling, double x)
{
    return sh_distribution_get_f_upper(x, falling->freedom1, falling->freedom2) -
           falling->target;
}

static double find_zero(const struct falling *falling)
{
    double low = 0.0;
    double high = 1.0;
    while (falling->get(falling, high) > 0.0 && high < QUANTILE_MAX) {
        low = high;
        high *= 2.0;
    }
    for (int i = 0; i < HALVES_MAX; i++) {
        const double middle = low + 0.5 * (high - low);
        if (middle <= low || middle >= high) {
            break;
        }
        if (falling->get(falling, middle) > 0.0) {
            low = middle;
        } else {
            high = middle;
        }
    }
    return low + 0.5 * (high - low);
}

double sh_distribution_get_t_quantile(double probability, double freedom)
{
    if (!is_inside(probability) || !is_freedom(freedom)) {
        return (double)NAN;
    }
    const bool is_upper = probability > 0.5;
    const double tail = is_upper ? 1.0 - probability : probability;
    const struct falling falling = {get_t_excess, freedom, 0.0, 2.0 * tail};
    const double t = find_zero(&falling);
    return is_upper ? t : -t;
}

double sh_distribution_get_f_quantile(double probability, double freedom1, double freedom2)
{
    if (!is_inside(probability) || !is_freedom(freedom1) || !is_freedom(freedom2)) {
        return (double)NAN;
    }
    const struct falling falling = {get_f_excess, freedom1, freedom2, 1.0 - probability};
    return find_zero(&falling);
}
