/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/line_fit.h"

#include <float.h>
#include <math.h>

#include "signal/finite.h"

#define TERMS SH_LINE_FIT_TERMS_MAX

static enum sh_status check_points(const struct sh_line_fit_points *points)
{
    if (points->degree > SH_LINE_FIT_DEGREE_MAX ||
        (points->through_zero && points->degree == 0)) {
        return SH_ERR_ARGUMENT;
    }
    if (points->n < points->degree + (points->through_zero ? 0 : 1)) {
        return SH_ERR_SHORT;
    }
    if (!sh_finite_is_all(points->x, points->n) || !sh_finite_is_all(points->y, points->n)) {
        return SH_ERR_NOT_FINITE;
    }
    for (size_t i = 0; points->weight != NULL && i < points->n; i++) {
        if (!isfinite(points->weight[i])) {
            return SH_ERR_NOT_FINITE;
        }
        if (!(points->weight[i] > 0.0)) {
            return SH_ERR_ARGUMENT;
        }
    }
    return SH_OK;
}

static double get_weight(const struct sh_line_fit_points *points, size_t i)
{
    return points->weight != NULL ? points->weight[i] : 1.0;
}

static void find_scale(const struct sh_line_fit_points *points, struct sh_line_fit *fit)
{
    fit->x_min = points->x[0];
    fit->x_max = points->x[0];
    for (size_t i = 1; i < points->n; i++) {
        fit->x_min = fmin(fit->x_min, points->x[i]);
        fit->x_max = fmax(fit->x_max, points->x[i]);
    }
    fit->centre = points->through_zero ? 0.0 : 0.5 * fit->x_min + 0.5 * fit->x_max;
    fit->half = fmax(fit->x_max - fit->centre, fit->centre - fit->x_min);
    if (!(fit->half > 0.0)) {
        fit->half = 1.0;
    }
}

/* Columns u^first .. u^degree, each row times the root of its weight. */
static void
fill_columns(const struct sh_line_fit_points *points, const struct sh_line_fit *fit, double *a)
{
    const size_t n = points->n;
    const size_t first = points->through_zero ? 1 : 0;
    const size_t n_columns = points->degree + 1 - first;
    for (size_t i = 0; i < n; i++) {
        const double u = (points->x[i] - fit->centre) / fit->half;
        const double root = points->weight != NULL ? sqrt(points->weight[i]) : 1.0;
        double power = first == 1 ? root * u : root;
        for (size_t k = 0; k < n_columns; k++) {
            a[k * n + i] = power;
            power *= u;
        }
    }
}

static double sum_products(const double *a, const double *b, size_t n)
{
    double sum = 0.0;
    for (size_t i = 0; i < n; i++) {
        sum += a[i] * b[i];
    }
    return sum;
}

/* Reflects a column of n numbers at v, whose first k count for nothing. */
static void reflect_column(const double *v, size_t n, size_t k, double *column)
{
    const double square = sum_products(v + k, v + k, n - k);
    const double share = 2.0 * sum_products(v + k, column + k, n - k) / square;
    for (size_t i = k; i < n; i++) {
        column[i] -= share * v[i];
    }
}

/* QR of a's first n_columns columns, of n rows: R above the diagonal, reflectors from it on. */
static enum sh_status factor_columns(double *a, size_t n, size_t n_columns, double *diagonal)
{
    for (size_t k = 0; k < n_columns; k++) {
        double *v = a + k * n;
        const double norm = sqrt(sum_products(v + k, v + k, n - k));
        const double whole = hypot(norm, sqrt(sum_products(v, v, k)));
        if (!(norm > (double)n * DBL_EPSILON * whole)) {
            return SH_ERR_SINGULAR;
        }
        diagonal[k] = v[k] > 0.0 ? -norm : norm;
        v[k] -= diagonal[k];
        for (size_t j = k + 1; j < n_columns; j++) {
            reflect_column(v, n, k, a + j * n);
        }
    }
    return SH_OK;
}

/* Row i of R times column j of its inverse, from behind the diagonal on. */
static double
sum_inverse(const double *a, size_t n, size_t i, double inverse[TERMS][TERMS], size_t j)
{
    double sum = 0.0;
    for (size_t k = i + 1; k <= j; k++) {
        sum += a[k * n + i] * inverse[k][j];
    }
    return sum;
}

/* inverse = R^-1, upper triangular. */
static void invert_triangle(const double *a,
                            size_t n,
                            size_t n_columns,
                            const double *diagonal,
                            double inverse[TERMS][TERMS])
{
    for (size_t j = 0; j < n_columns; j++) {
        inverse[j][j] = 1.0 / diagonal[j];
        for (size_t i = j; i-- > 0;) {
            inverse[i][j] = -sum_inverse(a, n, i, inverse, j) / diagonal[i];
        }
    }
}

/* Adds to the scaled polynomial what it leaves of y, the column behind the factored ones. */
static void add_step(const struct sh_line_fit_points *points,
                     const double *diagonal,
                     double *a,
                     struct sh_line_fit *fit)
{
    const size_t n = points->n;
    const size_t first = points->through_zero ? 1 : 0;
    const size_t n_columns = fit->n_terms - first;
    double *right = a + n_columns * n;
    for (size_t i = 0; i < n; i++) {
        right[i] = sqrt(get_weight(points, i)) *
                   (points->y[i] - sh_line_fit_get_value(fit, points->x[i], NULL));
    }
    for (size_t k = 0; k < n_columns; k++) {
        reflect_column(a + k * n, n, k, right);
    }
    for (size_t i = n_columns; i-- > 0;) {
        double sum = right[i];
        for (size_t k = i + 1; k < n_columns; k++) {
            sum -= a[k * n + i] * right[k];
        }
        right[i] = sum / diagonal[i];
        fit->scaled[i + first] += right[i];
    }
}

/* Solution, refined once, and R^-1 R^-T of the factored columns. */
static void solve_scaled(const struct sh_line_fit_points *points,
                         const double *diagonal,
                         double *a,
                         struct sh_line_fit *fit)
{
    const size_t first = points->through_zero ? 1 : 0;
    const size_t n_columns = fit->n_terms - first;
    double inverse[TERMS][TERMS] = {{0.0}};
    add_step(points, diagonal, a, fit);
    add_step(points, diagonal, a, fit);
    invert_triangle(a, points->n, n_columns, diagonal, inverse);
    for (size_t i = 0; i < n_columns; i++) {
        for (size_t j = 0; j < n_columns; j++) {
            fit->scaled_covariance[i + first][j + first] =
                sum_products(inverse[i], inverse[j], n_columns);
        }
    }
}

/* turn[k][j]: what u^j brings to x^k. */
static void make_turn(const struct sh_line_fit *fit, double turn[TERMS][TERMS])
{
    for (size_t j = 0; j < fit->n_terms; j++) {
        double value = pow(fit->half, -(double)j);
        for (size_t k = j + 1; k-- > 0;) {
            turn[k][j] = value;
            value *= -fit->centre * (double)k / (double)(j - k + 1);
        }
    }
}

static void turn_back(struct sh_line_fit *fit)
{
    double turn[TERMS][TERMS] = {{0.0}};
    double half_way[TERMS][TERMS] = {{0.0}};
    make_turn(fit, turn);
    for (size_t k = 0; k < fit->n_terms; k++) {
        fit->coefficient[k] = sum_products(turn[k], fit->scaled, fit->n_terms);
        for (size_t j = 0; j < fit->n_terms; j++) {
            half_way[k][j] = sum_products(turn[k], fit->scaled_covariance[j], fit->n_terms);
        }
    }
    for (size_t k = 0; k < fit->n_terms; k++) {
        for (size_t j = 0; j < fit->n_terms; j++) {
            fit->covariance[k][j] = sum_products(half_way[k], turn[j], fit->n_terms);
        }
    }
}

/* Before the covariance is multiplied by the residual variance. */
static void find_condition(const struct sh_line_fit_points *points, struct sh_line_fit *fit)
{
    for (size_t k = points->through_zero ? 1 : 0; k < fit->n_terms; k++) {
        double squares = 0.0;
        for (size_t i = 0; i < points->n; i++) {
            squares += get_weight(points, i) * pow(points->x[i], 2.0 * (double)k);
        }
        fit->condition = fmax(fit->condition, sqrt(fit->covariance[k][k] * squares));
    }
    fit->is_ill_conditioned = !(fit->condition <= SH_LINE_FIT_CONDITION_MAX);
}

static void find_residuals(const struct sh_line_fit_points *points, struct sh_line_fit *fit)
{
    double sum = 0.0;
    double weights = 0.0;
    for (size_t i = 0; i < points->n; i++) {
        sum += get_weight(points, i) * points->y[i];
        weights += get_weight(points, i);
    }
    const double middle = points->through_zero ? 0.0 : sum / weights;
    double total = 0.0;
    for (size_t i = 0; i < points->n; i++) {
        const double rest = points->y[i] - sh_line_fit_get_value(fit, points->x[i], NULL);
        fit->residual_squares += get_weight(points, i) * rest * rest;
        total += get_weight(points, i) * (points->y[i] - middle) * (points->y[i] - middle);
    }
    fit->r_squared = total > 0.0 ? 1.0 - fit->residual_squares / total : 1.0;
    if (fit->freedom > 0) {
        fit->residual_sd = sqrt(fit->residual_squares / (double)fit->freedom);
    }
    const double variance = fit->residual_sd * fit->residual_sd;
    for (size_t k = 0; k < TERMS; k++) {
        for (size_t j = 0; j < TERMS; j++) {
            fit->covariance[k][j] *= variance;
            fit->scaled_covariance[k][j] *= variance;
        }
    }
}

enum sh_status sh_line_fit_solve(const struct sh_line_fit_points *points,
                                 double *work,
                                 struct sh_line_fit *fit)
{
    enum sh_status status = check_points(points);
    if (status != SH_OK) {
        return status;
    }
    const size_t first = points->through_zero ? 1 : 0;
    struct sh_line_fit got = {.n_terms = points->degree + 1};
    got.freedom = points->n - (got.n_terms - first);
    double diagonal[TERMS] = {0.0};
    find_scale(points, &got);
    fill_columns(points, &got, work);
    status = factor_columns(work, points->n, got.n_terms - first, diagonal);
    if (status != SH_OK) {
        return status;
    }
    solve_scaled(points, diagonal, work, &got);
    turn_back(&got);
    find_condition(points, &got);
    find_residuals(points, &got);
    if (!sh_finite_is_all(got.coefficient, TERMS) ||
        !sh_finite_is_all(got.covariance[0], (size_t)TERMS * TERMS) ||
        !isfinite(got.residual_squares)) {
        return SH_ERR_NOT_FINITE;
    }
    *fit = got;
    return SH_OK;
}

double sh_line_fit_get_value(const struct sh_line_fit *fit, double x, double *u)
{
    const double scaled_x = (x - fit->centre) / fit->half;
    double power[TERMS];
    double value = 0.0;
    double variance = 0.0;
    power[0] = 1.0;
    for (size_t k = 1; k < fit->n_terms; k++) {
        power[k] = power[k - 1] * scaled_x;
    }
    for (size_t k = fit->n_terms; k-- > 0;) {
        value = value * scaled_x + fit->scaled[k];
        variance += power[k] * sum_products(power, fit->scaled_covariance[k], fit->n_terms);
    }
    if (u != NULL) {
        *u = sqrt(fmax(variance, 0.0));
    }
    return value;
}
