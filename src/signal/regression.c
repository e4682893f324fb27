/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/regression.h"

#include <float.h>
#include <math.h>
#include <string.h>

#include "signal/distribution.h"
#include "signal/finite.h"

#define COLUMNS SH_REGRESSION_COLUMNS_MAX

/* The problem with its columns about their means, at length 1. */
struct scaled {
    size_t n;
    size_t n_columns;
    double *plain;   /* [n_columns][n]; kept */
    double *factors; /* [n_columns][n]; R above the diagonal, reflectors from it on */
    double *right;   /* [n] */
    double mean[COLUMNS];
    double length[COLUMNS];
    double diagonal[COLUMNS];
    double solution[COLUMNS];
    double inverse[COLUMNS][COLUMNS]; /* of R */
    double y_mean;
    double y_squares;
};

static double sum_products(const double *a, const double *b, size_t n)
{
    double sum = 0.0;
    for (size_t i = 0; i < n; i++) {
        sum += a[i] * b[i];
    }
    return sum;
}

/* Mean of n numbers that lie stride apart, in two passes. */
static double get_mean(const double *x, size_t n, size_t stride)
{
    double rough = 0.0;
    for (size_t i = 0; i < n; i++) {
        rough += x[i * stride] / (double)n;
    }
    double rest = 0.0;
    for (size_t i = 0; i < n; i++) {
        rest += x[i * stride] - rough;
    }
    return rough + rest / (double)n;
}

static enum sh_status scale_columns(const struct sh_regression_rows *rows, struct scaled *s)
{
    for (size_t k = 0; k < s->n_columns; k++) {
        double *column = s->plain + k * s->n;
        double largest = 0.0;
        s->mean[k] = get_mean(rows->x + k, s->n, s->n_columns);
        for (size_t i = 0; i < s->n; i++) {
            const double x = rows->x[i * s->n_columns + k];
            column[i] = x - s->mean[k];
            largest = fmax(largest, fabs(x));
        }
        s->length[k] = sqrt(sum_products(column, column, s->n));
        if (!isfinite(s->length[k])) {
            return SH_ERR_NOT_FINITE;
        }
        if (!(s->length[k] > (double)s->n * DBL_EPSILON * largest)) {
            return SH_ERR_SINGULAR;
        }
        for (size_t i = 0; i < s->n; i++) {
            column[i] /= s->length[k];
        }
    }
    memcpy(s->factors, s->plain, s->n * s->n_columns * sizeof(*s->plain));
    s->y_mean = get_mean(rows->y, s->n, 1);
    return isfinite(s->y_mean) ? SH_OK : SH_ERR_NOT_FINITE;
}

/* Reflects a column at reflector k. */
static void reflect(const struct scaled *s, size_t k, double *column)
{
    const double *v = s->factors + k * s->n;
    const double square = sum_products(v + k, v + k, s->n - k);
    const double share = 2.0 * sum_products(v + k, column + k, s->n - k) / square;
    for (size_t i = k; i < s->n; i++) {
        column[i] -= share * v[i];
    }
}

static enum sh_status factor(struct scaled *s)
{
    for (size_t k = 0; k < s->n_columns; k++) {
        double *v = s->factors + k * s->n;
        const double norm = sqrt(sum_products(v + k, v + k, s->n - k));
        if (!(norm > (double)s->n * DBL_EPSILON)) {
            return SH_ERR_SINGULAR;
        }
        s->diagonal[k] = v[k] > 0.0 ? -norm : norm;
        v[k] -= s->diagonal[k];
        for (size_t j = k + 1; j < s->n_columns; j++) {
            reflect(s, k, s->factors + j * s->n);
        }
    }
    return SH_OK;
}

/* Residuals of the solution so far, into right; their sum of squares. */
static double take_off(const struct sh_regression_rows *rows, struct scaled *s)
{
    double squares = 0.0;
    for (size_t i = 0; i < s->n; i++) {
        double rest = rows->y[i] - s->y_mean;
        for (size_t k = 0; k < s->n_columns; k++) {
            rest -= s->plain[k * s->n + i] * s->solution[k];
        }
        s->right[i] = rest;
        squares += rest * rest;
    }
    return squares;
}

/* Adds what the residuals in right still hold. */
static void add_step(struct scaled *s)
{
    for (size_t k = 0; k < s->n_columns; k++) {
        reflect(s, k, s->right);
    }
    for (size_t i = s->n_columns; i-- > 0;) {
        double sum = s->right[i];
        for (size_t k = i + 1; k < s->n_columns; k++) {
            sum -= s->factors[k * s->n + i] * s->right[k];
        }
        s->right[i] = sum / s->diagonal[i];
        s->solution[i] += s->right[i];
    }
}

/* Row i of R times column j of its inverse, from behind the diagonal on. */
static double sum_inverse(const struct scaled *s, size_t i, size_t j)
{
    double sum = 0.0;
    for (size_t k = i + 1; k <= j; k++) {
        sum += s->factors[k * s->n + i] * s->inverse[k][j];
    }
    return sum;
}

static void invert(struct scaled *s)
{
    for (size_t j = 0; j < s->n_columns; j++) {
        s->inverse[j][j] = 1.0 / s->diagonal[j];
        for (size_t i = j; i-- > 0;) {
            s->inverse[i][j] = -sum_inverse(s, i, j) / s->diagonal[i];
        }
    }
}

static void set_terms(const struct scaled *s, struct sh_regression *r)
{
    double at_zero[COLUMNS]; /* means over lengths: what the constant takes of each column */
    double turned[COLUMNS] = {0.0};
    r->coefficient[0] = s->y_mean;
    r->inflation[0] = 1.0;
    for (size_t k = 0; k < s->n_columns; k++) {
        at_zero[k] = s->mean[k] / s->length[k];
        r->coefficient[k + 1] = s->solution[k] / s->length[k];
        r->coefficient[0] -= s->solution[k] * at_zero[k];
        r->inflation[k + 1] = sum_products(s->inverse[k], s->inverse[k], s->n_columns);
        r->u[k + 1] = r->residual_sd * sqrt(r->inflation[k + 1]) / s->length[k];
        for (size_t j = 0; j < s->n_columns; j++) {
            turned[j] += s->inverse[k][j] * at_zero[k];
        }
    }
    r->u[0] =
        r->residual_sd * sqrt(1.0 / (double)s->n + sum_products(turned, turned, s->n_columns));
}

static void set_chances(struct sh_regression *r)
{
    for (size_t k = 0; k < r->n_terms; k++) {
        const double t = fabs(r->coefficient[k]) / r->u[k];
        r->p[k] = r->freedom > 0 && !isnan(t)
                      ? sh_distribution_get_t_two_sided(t, (double)r->freedom)
                      : 1.0;
    }
}

static enum sh_status check_rows(const struct sh_regression_rows *rows)
{
    if (rows->n_columns == 0 || rows->n_columns > COLUMNS) {
        return SH_ERR_ARGUMENT;
    }
    if (rows->n < rows->n_columns + 1) {
        return SH_ERR_SHORT;
    }
    return sh_finite_is_all(rows->x, rows->n * rows->n_columns) &&
                   sh_finite_is_all(rows->y, rows->n)
               ? SH_OK
               : SH_ERR_NOT_FINITE;
}

enum sh_status sh_regression_solve(const struct sh_regression_rows *rows,
                                   double *work,
                                   struct sh_regression *regression)
{
    enum sh_status status = check_rows(rows);
    if (status != SH_OK) {
        return status;
    }
    struct scaled s = {.n = rows->n, .n_columns = rows->n_columns};
    s.plain = work;
    s.factors = work + rows->n * rows->n_columns;
    s.right = work + 2 * rows->n * rows->n_columns;
    status = scale_columns(rows, &s);
    if (status == SH_OK) {
        status = factor(&s);
    }
    if (status != SH_OK) {
        return status;
    }
    struct sh_regression got = {.n_terms = s.n_columns + 1, .freedom = s.n - s.n_columns - 1};
    s.y_squares = take_off(rows, &s);
    add_step(&s);
    (void)take_off(rows, &s);
    add_step(&s);
    got.residual_squares = take_off(rows, &s);
    got.residual_sd = got.freedom > 0 ? sqrt(got.residual_squares / (double)got.freedom) : 0.0;
    got.r_squared = s.y_squares > 0.0 ? 1.0 - got.residual_squares / s.y_squares : 0.0;
    invert(&s);
    set_terms(&s, &got);
    set_chances(&got);
    if (!sh_finite_is_all(got.coefficient, got.n_terms) ||
        !sh_finite_is_all(got.u, got.n_terms) || !isfinite(got.residual_squares)) {
        return SH_ERR_NOT_FINITE;
    }
    *regression = got;
    return SH_OK;
}
