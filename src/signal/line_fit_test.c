/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>

#include "signal/distribution.h"
#include "signal/line_fit.h"

#define HALVES_MAX 200

static enum sh_status make_test(
    double part1, size_t freedom1, double part2, size_t freedom2, struct sh_line_fit_test *test)
{
    const double f = (part1 / (double)freedom1) / (part2 / (double)freedom2);
    if (!isfinite(f)) {
        return SH_ERR_SINGULAR;
    }
    *test = (struct sh_line_fit_test){
        .f = f,
        .freedom1 = freedom1,
        .freedom2 = freedom2,
        .p = sh_distribution_get_f_upper(fmax(f, 0.0), (double)freedom1, (double)freedom2)};
    return SH_OK;
}

static bool is_same(double a, double b)
{
    return !(a < b) && !(a > b);
}

/* Squares of point i's reading about the mean of its x; *is_first where no earlier one has it.
 */
static double get_pure_square(const struct sh_line_fit_points *points, size_t i, bool *is_first)
{
    double sum = 0.0;
    size_t n_same = 0;
    *is_first = true;
    for (size_t k = 0; k < points->n; k++) {
        if (is_same(points->x[k], points->x[i])) {
            sum += points->y[k] - points->y[i];
            n_same++;
            *is_first = *is_first && k >= i;
        }
    }
    const double rest = sum / (double)n_same;
    return rest * rest;
}

enum sh_status sh_line_fit_test_lack(const struct sh_line_fit_points *points,
                                     const struct sh_line_fit *fit,
                                     struct sh_line_fit_test *test)
{
    if (points->weight != NULL) {
        return SH_ERR_ARGUMENT;
    }
    double pure = 0.0;
    size_t n_groups = 0;
    for (size_t i = 0; i < points->n; i++) {
        bool is_first = false;
        pure += get_pure_square(points, i, &is_first);
        n_groups += is_first ? 1 : 0;
    }
    const size_t n_fitted = points->n - fit->freedom;
    if (n_groups == points->n || n_groups <= n_fitted) {
        return SH_ERR_SHORT;
    }
    return make_test(fit->residual_squares - pure, n_groups - n_fitted, pure,
                     points->n - n_groups, test);
}

enum sh_status sh_line_fit_test_terms(const struct sh_line_fit *shorter,
                                      const struct sh_line_fit *longer,
                                      struct sh_line_fit_test *test)
{
    if (longer->freedom >= shorter->freedom) {
        return SH_ERR_ARGUMENT;
    }
    if (longer->freedom == 0) {
        return SH_ERR_SHORT;
    }
    return make_test(shorter->residual_squares - longer->residual_squares,
                     shorter->freedom - longer->freedom, longer->residual_squares,
                     longer->freedom, test);
}

/* y - f(x) in units of the half width of its interval; t = 0: as it is. */
static double get_offset(const struct sh_line_fit *fit, double y, double t, double x)
{
    double u = 0.0;
    const double rest = y - sh_line_fit_get_value(fit, x, &u);
    return t > 0.0 ? rest / (t * hypot(fit->residual_sd, u)) : rest;
}

/* Where get_offset passes target between a and b; NaN where both ends lie on one side. */
static double find_crossing(
    const struct sh_line_fit *fit, double y, double t, double target, const double ends[2])
{
    double a = ends[0];
    double b = ends[1];
    const bool is_above = get_offset(fit, y, t, a) > target;
    if (is_above == (get_offset(fit, y, t, b) > target)) {
        return (double)NAN;
    }
    for (int i = 0; i < HALVES_MAX; i++) {
        const double middle = a + 0.5 * (b - a);
        if ((get_offset(fit, y, t, middle) > target) == is_above) {
            a = middle;
        } else {
            b = middle;
        }
    }
    return a + 0.5 * (b - a);
}

enum sh_status sh_line_fit_find_x(const struct sh_line_fit *fit,
                                  double y,
                                  double level,
                                  struct sh_line_fit_inverse *inverse)
{
    if (!(level > 0.0 && level < 1.0)) {
        return SH_ERR_ARGUMENT;
    }
    if (!isfinite(y)) {
        return SH_ERR_NOT_FINITE;
    }
    if (fit->freedom == 0) {
        return SH_ERR_SHORT;
    }
    const double margin = 0.5 * (fit->x_max - fit->x_min);
    const double all[2] = {fit->x_min - margin, fit->x_max + margin};
    const double x = find_crossing(fit, y, 0.0, 0.0, all);
    if (!isfinite(x)) {
        return SH_ERR_NOT_FOUND;
    }
    struct sh_line_fit_inverse got = {x, x, x};
    if (fit->residual_sd > 0.0) {
        const double t =
            sh_distribution_get_t_quantile(0.5 * (1.0 + level), (double)fit->freedom);
        const double side = get_offset(fit, y, 0.0, all[0]) > 0.0 ? 1.0 : -1.0;
        got.lo = find_crossing(fit, y, t, side, (const double[2]){all[0], x});
        got.hi = find_crossing(fit, y, t, -side, (const double[2]){x, all[1]});
    }
    if (!isfinite(got.lo) || !isfinite(got.hi)) {
        return SH_ERR_NOT_FOUND;
    }
    *inverse = got;
    return SH_OK;
}
