/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/chi_square.h"

#include <float.h>
#include <math.h>

#include "signal/log_gamma.h"

#define TERMS_MAX  100000
#define HALVES_MAX 200

static double sum_series(double a, double x)
{
    double term = 1.0 / a;
    double sum = term;
    for (int i = 1; i < TERMS_MAX && term > sum * 0.5 * DBL_EPSILON; i++) {
        term *= x / (a + (double)i);
        sum += term;
    }
    return sum;
}

static double run_fraction(double a, double x)
{
    double b = x + 1.0 - a;
    double c = 1.0 / DBL_MIN;
    double d = 1.0 / b;
    double h = d;
    for (int i = 1; i < TERMS_MAX; i++) {
        double an = -(double)i * ((double)i - a);
        b += 2.0;
        d = an * d + b;
        d = 1.0 / (fabs(d) < DBL_MIN ? DBL_MIN : d);
        c = b + an / c;
        c = fabs(c) < DBL_MIN ? DBL_MIN : c;
        double factor = c * d;
        h *= factor;
        if (fabs(factor - 1.0) < DBL_EPSILON) {
            break;
        }
    }
    return h;
}

double sh_chi_square_get_probability(double x, double freedom)
{
    if (!(x > 0.0)) {
        return 0.0;
    }
    double a = 0.5 * freedom;
    double half = 0.5 * x;
    double front = exp(a * log(half) - half - sh_log_gamma_get(a));
    return half < a + 1.0 ? front * sum_series(a, half) : 1.0 - front * run_fraction(a, half);
}

double sh_chi_square_get_quantile(double probability, double freedom)
{
    if (!(probability > 0.0 && probability < 1.0 && freedom > 0.0 && isfinite(freedom))) {
        return (double)NAN;
    }
    double low = 0.0;
    double high = freedom + 1.0;
    while (sh_chi_square_get_probability(high, freedom) < probability && isfinite(high)) {
        low = high;
        high *= 2.0;
    }
    for (int i = 0; i < HALVES_MAX && high - low > 1e-14 * high; i++) {
        double middle = 0.5 * (low + high);
        if (sh_chi_square_get_probability(middle, freedom) < probability) {
            low = middle;
        } else {
            high = middle;
        }
    }
    return 0.5 * (low + high);
}
