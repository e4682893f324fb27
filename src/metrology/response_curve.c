/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "metrology/response_curve.h"

#include <cminpack.h>
#include <math.h>
#include <stdbool.h>
#include <string.h>

#include "signal/cholesky.h"
#include "signal/finite.h"

#define TERMS        SH_RESPONSE_CURVE_TERMS
#define POINTS_MAX   SH_RESPONSE_CURVE_POINTS_MAX
#define N_SEARCHED   2 /* start and shape */
#define STARTS       ((size_t)24)
#define SHAPES       ((size_t)24)
#define POWER_MIN    0.05
#define POWER_MAX    3.0
#define HALF_MIN     0.01 /* shape over the largest force, saturating */
#define HALF_MAX     100.0
#define TOLERANCE    1e-10
#define EVALUATIONS  400
#define STEP_RATIO   1e-5 /* of a parameter, for the Jacobian */
#define LMDIF_FACTOR 10.0

struct problem {
    enum sh_response_curve_kind kind;
    const double *force_n;
    const double *counts;
    size_t n;
    double force_max_n;
    double start_max_n; /* a dead zone ends before the second highest force */
};

static double get_bend(enum sh_response_curve_kind kind, double above_n, double shape)
{
    if (!(above_n > 0.0)) {
        return 0.0;
    }
    return kind == SH_RESPONSE_CURVE_POWER ? pow(above_n, shape) : above_n / (shape + above_n);
}

/* Best zero and gain for a start and a shape: a straight line on the bent forces. */
static void project(const struct problem *problem,
                    double start_n,
                    double shape,
                    double *zero_counts,
                    double *gain)
{
    double mean_bend = 0.0;
    double mean_counts = 0.0;
    for (size_t i = 0; i < problem->n; i++) {
        mean_bend += get_bend(problem->kind, problem->force_n[i] - start_n, shape);
        mean_counts += problem->counts[i];
    }
    mean_bend /= (double)problem->n;
    mean_counts /= (double)problem->n;
    double square = 0.0;
    double product = 0.0;
    for (size_t i = 0; i < problem->n; i++) {
        const double bend =
            get_bend(problem->kind, problem->force_n[i] - start_n, shape) - mean_bend;
        square += bend * bend;
        product += bend * (problem->counts[i] - mean_counts);
    }
    *gain = square > 0.0 ? product / square : 0.0;
    *zero_counts = mean_counts - *gain * mean_bend;
}

/* Residuals [n] for a start and a shape; their sum of squares. */
static double
get_residuals(const struct problem *problem, double start_n, double shape, double *residual)
{
    double zero = 0.0;
    double gain = 0.0;
    double squares = 0.0;
    project(problem, start_n, shape, &zero, &gain);
    for (size_t i = 0; i < problem->n; i++) {
        residual[i] = problem->counts[i] - zero -
                      gain * get_bend(problem->kind, problem->force_n[i] - start_n, shape);
        squares += residual[i] * residual[i];
    }
    return squares;
}

/* The searched pair, free of bounds: start between 0 and start_max, shape above 0. */
static void
read_searched(const struct problem *problem, const double *x, double *start_n, double *shape)
{
    *start_n = problem->start_max_n * 0.5 * (1.0 - cos(x[0]));
    *shape = exp(x[1]);
}

static int find_residuals(void *context, int m, int n, const double *x, double *fvec, int iflag)
{
    const struct problem *problem = context;
    double start_n = 0.0;
    double shape = 0.0;
    (void)m;
    (void)n;
    (void)iflag;
    read_searched(problem, x, &start_n, &shape);
    (void)get_residuals(problem, start_n, shape, fvec);
    return 0;
}

static void search_grid(const struct problem *problem, double x[N_SEARCHED])
{
    const bool is_power = problem->kind == SH_RESPONSE_CURVE_POWER;
    const double low = log(is_power ? POWER_MIN : HALF_MIN * problem->force_max_n);
    const double high = log(is_power ? POWER_MAX : HALF_MAX * problem->force_max_n);
    double residual[POINTS_MAX];
    double best = (double)INFINITY;
    for (size_t i = 0; i < STARTS * SHAPES; i++) {
        const double part = (double)(i % SHAPES) / (double)(SHAPES - 1);
        const size_t row = i / SHAPES;
        const double angle = acos(1.0 - 2.0 * ((double)row + 0.5) / (double)STARTS);
        const double pair[] = {angle, low + (high - low) * part};
        double start_n = 0.0;
        double shape = 0.0;
        read_searched(problem, pair, &start_n, &shape);
        const double squares = get_residuals(problem, start_n, shape, residual);
        if (squares < best) {
            best = squares;
            memcpy(x, pair, sizeof pair);
        }
    }
}

/* Levenberg-Marquardt from x; the better of where it began and where it ended is kept in x. */
static void refine(struct problem *problem, double x[N_SEARCHED])
{
    double residual[POINTS_MAX];
    double jacobian[POINTS_MAX * N_SEARCHED];
    double diag[N_SEARCHED] = {0};
    double qtf[N_SEARCHED];
    double work[3][N_SEARCHED];
    double work_points[POINTS_MAX];
    double moved[N_SEARCHED] = {x[0], x[1]};
    int pivots[N_SEARCHED];
    int n_calls = 0;
    const int n = (int)problem->n;
    double start_n = 0.0;
    double shape = 0.0;
    read_searched(problem, x, &start_n, &shape);
    const double before = get_residuals(problem, start_n, shape, residual);
    (void)lmdif(find_residuals, problem, n, N_SEARCHED, moved, residual, TOLERANCE, TOLERANCE,
                0.0, EVALUATIONS, 0.0, diag, 1, LMDIF_FACTOR, 0, &n_calls, jacobian, n, pivots,
                qtf, work[0], work[1], work[2], work_points);
    read_searched(problem, moved, &start_n, &shape);
    if (get_residuals(problem, start_n, shape, residual) <= before) {
        memcpy(x, moved, sizeof moved);
    }
}

static double get_value(const struct sh_response_curve *curve, double force_n)
{
    return curve->zero_counts +
           curve->gain * get_bend(curve->kind, force_n - curve->start_n, curve->shape);
}

/* Derivatives of the counts at a force by zero, gain, start and shape. */
static void
get_gradient(const struct sh_response_curve *curve, double force_n, double row[TERMS])
{
    struct sh_response_curve up = *curve;
    struct sh_response_curve down = *curve;
    const double step = STEP_RATIO * curve->shape;
    up.shape += step;
    down.shape -= step;
    row[0] = 1.0;
    row[1] = get_bend(curve->kind, force_n - curve->start_n, curve->shape);
    row[2] = -sh_response_curve_get_slope(curve, force_n);
    row[3] = (get_value(&up, force_n) - get_value(&down, force_n)) / (2.0 * step);
}

/* Covariance from the inverse of J^T J, columns scaled to length 1. */
static enum sh_status find_covariance(const struct problem *problem,
                                      struct sh_response_curve *curve)
{
    double normal[TERMS * TERMS] = {0};
    double right[TERMS] = {0};
    double inverse[TERMS * TERMS];
    double scale[TERMS] = {0};
    double row[TERMS];
    for (size_t i = 0; i < problem->n; i++) {
        get_gradient(curve, problem->force_n[i], row);
        sh_cholesky_add_row(row, 0.0, TERMS, normal, right);
    }
    for (size_t i = 0; i < TERMS; i++) {
        scale[i] = sqrt(normal[i * TERMS + i]);
        if (!(scale[i] > 0.0)) {
            return SH_ERR_SINGULAR;
        }
    }
    for (size_t i = 0; i < TERMS; i++) {
        for (size_t k = 0; k <= i; k++) {
            normal[i * TERMS + k] /= scale[i] * scale[k];
        }
    }
    if (sh_cholesky_factor(normal, TERMS) != SH_OK) {
        return SH_ERR_SINGULAR;
    }
    sh_cholesky_invert(normal, TERMS, inverse);
    const double variance = curve->residual_squares / (double)curve->freedom;
    for (size_t i = 0; i < TERMS; i++) {
        for (size_t k = 0; k < TERMS; k++) {
            curve->covariance[i][k] = variance * inverse[i * TERMS + k] / (scale[i] * scale[k]);
        }
    }
    return SH_OK;
}

/* Largest force and the largest below it. */
static enum sh_status find_forces(struct problem *problem)
{
    double second_n = 0.0;
    for (size_t i = 0; i < problem->n; i++) {
        if (problem->force_n[i] < 0.0) {
            return SH_ERR_ARGUMENT;
        }
        problem->force_max_n = fmax(problem->force_max_n, problem->force_n[i]);
    }
    for (size_t i = 0; i < problem->n; i++) {
        if (problem->force_n[i] < problem->force_max_n) {
            second_n = fmax(second_n, problem->force_n[i]);
        }
    }
    problem->start_max_n = second_n;
    return second_n > 0.0 ? SH_OK : SH_ERR_SINGULAR;
}

enum sh_status sh_response_curve_solve(enum sh_response_curve_kind kind,
                                       const double *force_n,
                                       const double *counts,
                                       size_t n,
                                       struct sh_response_curve *curve)
{
    struct problem problem = {.kind = kind, .force_n = force_n, .counts = counts, .n = n};
    double x[N_SEARCHED] = {0};
    double residual[POINTS_MAX];
    if (n > POINTS_MAX) {
        return SH_ERR_ARGUMENT;
    }
    if (n <= TERMS) {
        return SH_ERR_SHORT;
    }
    if (!sh_finite_is_all(force_n, n) || !sh_finite_is_all(counts, n)) {
        return SH_ERR_NOT_FINITE;
    }
    enum sh_status status = find_forces(&problem);
    if (status != SH_OK) {
        return status;
    }
    search_grid(&problem, x);
    refine(&problem, x);
    struct sh_response_curve got = {
        .kind = kind, .freedom = n - TERMS, .force_max_n = problem.force_max_n};
    read_searched(&problem, x, &got.start_n, &got.shape);
    got.residual_squares = get_residuals(&problem, got.start_n, got.shape, residual);
    got.residual_sd_counts = sqrt(got.residual_squares / (double)got.freedom);
    project(&problem, got.start_n, got.shape, &got.zero_counts, &got.gain);
    if (!(fabs(got.gain) > 0.0) || !isfinite(got.gain)) {
        return SH_ERR_SINGULAR;
    }
    status = find_covariance(&problem, &got);
    if (status == SH_OK) {
        *curve = got;
    }
    return status;
}

static double get_fit_u(const struct sh_response_curve *curve, double force_n)
{
    double row[TERMS];
    double variance = 0.0;
    get_gradient(curve, force_n, row);
    for (size_t i = 0; i < TERMS; i++) {
        for (size_t k = 0; k < TERMS; k++) {
            variance += row[i] * curve->covariance[i][k] * row[k];
        }
    }
    return sqrt(fmax(variance, 0.0));
}

double sh_response_curve_get_counts(const struct sh_response_curve *curve,
                                    double force_n,
                                    double *u_counts)
{
    if (u_counts != NULL) {
        *u_counts = get_fit_u(curve, force_n);
    }
    return get_value(curve, force_n);
}

double sh_response_curve_get_slope(const struct sh_response_curve *curve, double force_n)
{
    const double above_n = force_n - curve->start_n;
    if (!(above_n > 0.0)) {
        return 0.0;
    }
    if (curve->kind == SH_RESPONSE_CURVE_POWER) {
        return curve->gain * curve->shape * pow(above_n, curve->shape - 1.0);
    }
    const double all_n = curve->shape + above_n;
    return curve->gain * curve->shape / (all_n * all_n);
}

double sh_response_curve_get_force(const struct sh_response_curve *curve, double counts)
{
    const double bend = (counts - curve->zero_counts) / curve->gain;
    const double bend_max =
        get_bend(curve->kind, curve->force_max_n - curve->start_n, curve->shape);
    if (bend < 0.0) {
        return 0.0;
    }
    if (bend > bend_max) {
        return curve->force_max_n + (bend - bend_max) * curve->gain /
                                        sh_response_curve_get_slope(curve, curve->force_max_n);
    }
    return curve->start_n + (curve->kind == SH_RESPONSE_CURVE_POWER
                                 ? pow(bend, 1.0 / curve->shape)
                                 : curve->shape * bend / (1.0 - bend));
}
