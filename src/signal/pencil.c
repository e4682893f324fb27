/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/pencil.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#include "signal/cholesky.h"
#include "signal/dot.h"
#include "signal/eigen.h"
#include "signal/finite.h"

#define ORDER_MAX      SH_PENCIL_ORDER_MAX
#define SPARE          SH_PENCIL_SPARE
#define BLOCK_MAX      (ORDER_MAX + SPARE)
#define ROUNDS         12
#define TILE_ROWS      2u /* directions (their number is even) and lags worked on at once */
#define TILE_LAGS      8u
#define NOISE_FACTOR   3.5
#define VANISHED       1e-15 /* of a direction's size before */
#define ROUNDING_FLOOR 1e-13 /* of the largest eigenvalue */

struct sh_pencil {
    size_t n_lags;      /* most lags */
    size_t order_max;   /* most poles */
    size_t block;       /* directions followed at once */
    double *covariance; /* [n_lags][n_lags] */
    double *basis;      /* [block][n_lags], one direction a row */
    double *image;      /* [block][n_lags] */
};

enum sh_status sh_pencil_open(size_t n_lags, size_t order_max, struct sh_pencil **out)
{
    if (order_max < 2 || order_max > ORDER_MAX || order_max % 2 == 1 ||
        n_lags < 2 * (order_max + SPARE) || n_lags > SH_PENCIL_LAGS_MAX) {
        return SH_ERR_ARGUMENT;
    }
    struct sh_pencil *pencil = calloc(1, sizeof(*pencil));
    if (pencil == NULL) {
        return SH_ERR_MEMORY;
    }
    pencil->n_lags = n_lags;
    pencil->order_max = order_max;
    pencil->block = order_max + SPARE;
    pencil->covariance = calloc(n_lags * n_lags, sizeof(double));
    pencil->basis = calloc(pencil->block * n_lags, sizeof(double));
    pencil->image = calloc(pencil->block * n_lags, sizeof(double));
    if (pencil->covariance == NULL || pencil->basis == NULL || pencil->image == NULL) {
        sh_pencil_close(&pencil);
        return SH_ERR_MEMORY;
    }
    *out = pencil;
    return SH_OK;
}

void sh_pencil_close(struct sh_pencil **pencil)
{
    if (pencil == NULL || *pencil == NULL) {
        return;
    }
    free((*pencil)->covariance);
    free((*pencil)->basis);
    free((*pencil)->image);
    free(*pencil);
    *pencil = NULL;
}

/* Sums of products of the series with itself over n_rows starts, for every pair of lags. */
static void fill_covariance(struct sh_pencil *r, const double *x, size_t n, size_t n_lags)
{
    size_t n_rows = n - n_lags + 1;
    double *g = r->covariance;
    for (size_t j = 0; j < n_lags; j++) {
        g[j] = sh_dot_get(x, x + j, n_rows);
    }
    for (size_t i = 1; i < n_lags; i++) {
        for (size_t j = i; j < n_lags; j++) {
            g[i * n_lags + j] = g[(i - 1) * n_lags + j - 1] - x[i - 1] * x[j - 1] +
                                x[i - 1 + n_rows] * x[j - 1 + n_rows];
        }
    }
    for (size_t i = 1; i < n_lags; i++) {
        for (size_t j = 0; j < i; j++) {
            g[i * n_lags + j] = g[j * n_lags + i];
        }
    }
}

/* Takes the parts along the first k rows off row k, and returns the size of what is left. */
static double clear_earlier(double *rows, size_t k, size_t n)
{
    double *v = rows + k * n;
    for (size_t j = 0; j < k; j++) {
        const double *u = rows + j * n;
        sh_dot_add(-sh_dot_get(u, v, n), u, v, n);
    }
    return sqrt(sh_dot_get(v, v, n));
}

/* Scales v to unit size; a v that has vanished becomes an axis, and the answer is true. */
static bool scale_row(double *v, size_t n, size_t axis, double size, double before)
{
    if (!(size > VANISHED * before)) {
        memset(v, 0, n * sizeof(*v));
        v[axis] = 1.0;
        return true;
    }
    double factor = 1.0 / size;
    for (size_t i = 0; i < n; i++) {
        v[i] *= factor;
    }
    return false;
}

/* Makes the rows orthonormal, each twice over, and once more where an axis had to be put in. */
static void orthonormalise(double *rows, size_t n_rows, size_t n)
{
    for (size_t k = 0; k < n_rows; k++) {
        double *v = rows + k * n;
        bool has_axis = false;
        for (int round = 0; round < 2 || (round == 2 && has_axis); round++) {
            double before = sqrt(sh_dot_get(v, v, n));
            has_axis = scale_row(v, n, k, clear_earlier(rows, k, n), before) || has_axis;
        }
    }
}

/* TILE_LAGS elements of the images of TILE_ROWS directions, from lag i on. */
static void apply_tile(const double *g, const double *v, size_t n, size_t i, double *image)
{
    double sum[TILE_ROWS][TILE_LAGS] = {{0.0}};
    for (size_t j = 0; j < n; j++) {
        const double *column = g + j * n + i; /* of a symmetric matrix */
        for (size_t b = 0; b < TILE_LAGS; b++) {
            sum[0][b] += column[b] * v[j];
            sum[1][b] += column[b] * v[n + j];
        }
    }
    for (size_t a = 0; a < TILE_ROWS; a++) {
        memcpy(image + a * n + i, sum[a], sizeof(sum[a]));
    }
}

static void apply_covariance(const struct sh_pencil *r, size_t n_lags)
{
    size_t n_tiled = n_lags - n_lags % TILE_LAGS;
    for (size_t k = 0; k < r->block; k += TILE_ROWS) {
        const double *v = r->basis + k * n_lags;
        double *image = r->image + k * n_lags;
        for (size_t i = 0; i < n_tiled; i += TILE_LAGS) {
            apply_tile(r->covariance, v, n_lags, i, image);
        }
        for (size_t i = n_tiled; i < n_lags; i++) {
            const double *row = r->covariance + i * n_lags;
            image[i] = sh_dot_get(row, v, n_lags);
            image[n_lags + i] = sh_dot_get(row, v + n_lags, n_lags);
        }
    }
}

/* Leading eigenvalues and eigenvectors (rows of basis) by subspace iteration. */
static enum sh_status find_subspace(struct sh_pencil *r, size_t n_lags, double *values)
{
    size_t m = r->block;
    for (size_t k = 0; k < m; k++) {
        memcpy(r->basis + k * n_lags, r->covariance + (k * n_lags / m) * n_lags,
               n_lags * sizeof(double));
    }
    orthonormalise(r->basis, m, n_lags);
    for (int round = 0; round < ROUNDS; round++) {
        apply_covariance(r, n_lags);
        memcpy(r->basis, r->image, m * n_lags * sizeof(double));
        orthonormalise(r->basis, m, n_lags);
    }
    apply_covariance(r, n_lags);
    double small[BLOCK_MAX * BLOCK_MAX];
    double vectors[BLOCK_MAX * BLOCK_MAX];
    for (size_t a = 0; a < m; a++) {
        for (size_t b = 0; b <= a; b++) {
            double product = sh_dot_get(r->basis + a * n_lags, r->image + b * n_lags, n_lags);
            small[a * m + b] = product;
            small[b * m + a] = product;
        }
    }
    enum sh_status status = sh_eigen_symmetric(small, m, values, vectors);
    if (status != SH_OK) {
        return status;
    }
    for (size_t i = 0; i < n_lags; i++) {
        double column[BLOCK_MAX];
        for (size_t a = 0; a < m; a++) {
            column[a] = r->basis[a * n_lags + i];
        }
        for (size_t a = 0; a < m; a++) {
            r->basis[a * n_lags + i] = sh_dot_get(vectors + a * m, column, m);
        }
    }
    return SH_OK;
}

static size_t
choose_order(const struct sh_pencil *r, size_t n, size_t n_lags, const double *values)
{
    double trace = 0.0;
    for (size_t i = 0; i < n_lags; i++) {
        trace += r->covariance[i * n_lags + i];
    }
    for (size_t k = 0; k < r->block; k++) {
        trace -= values[k];
    }
    double noise = fmax(trace, 0.0) / (double)(n_lags - r->block);
    double edge = 1.0 + sqrt((double)n_lags / (double)(n - n_lags + 1));
    double threshold = fmax(NOISE_FACTOR * noise * edge * edge, ROUNDING_FLOOR * values[0]);
    size_t order = 0;
    while (order < r->order_max && values[order] > threshold) {
        order++;
    }
    return order + order % 2;
}

/* Poles a sample: eigenvalues of the least-squares shift of the leading eigenvectors. */
static enum sh_status
find_poles(const struct sh_pencil *r, size_t n_lags, size_t order, double complex *poles)
{
    double normal[ORDER_MAX * ORDER_MAX];
    double complex shift[ORDER_MAX * ORDER_MAX];
    for (size_t a = 0; a < order; a++) {
        const double *va = r->basis + a * n_lags;
        for (size_t b = 0; b < order; b++) {
            normal[a * order + b] = sh_dot_get(va, r->basis + b * n_lags, n_lags - 1);
        }
    }
    enum sh_status status = sh_cholesky_factor(normal, order);
    if (status != SH_OK) {
        return status;
    }
    for (size_t b = 0; b < order; b++) {
        double column[ORDER_MAX];
        for (size_t a = 0; a < order; a++) {
            column[a] =
                sh_dot_get(r->basis + a * n_lags, r->basis + b * n_lags + 1, n_lags - 1);
        }
        sh_cholesky_solve(normal, order, column);
        for (size_t a = 0; a < order; a++) {
            shift[a * order + b] = column[a];
        }
    }
    return sh_eigen_general(shift, order, poles);
}

enum sh_status sh_pencil_run(
    struct sh_pencil *pencil, const double *x, size_t n, double complex *poles, size_t *order)
{
    size_t n_lags = n / 3 < pencil->n_lags ? n / 3 : pencil->n_lags;
    if (n_lags < 2 * pencil->block) {
        return SH_ERR_SHORT;
    }
    if (!sh_finite_is_all(x, n)) {
        return SH_ERR_NOT_FINITE;
    }
    double values[BLOCK_MAX];
    fill_covariance(pencil, x, n, n_lags);
    enum sh_status status = find_subspace(pencil, n_lags, values);
    if (status != SH_OK) {
        return status;
    }
    size_t found = values[0] > 0.0 ? choose_order(pencil, n, n_lags, values) : 0;
    if (found > 0) {
        status = find_poles(pencil, n_lags, found, poles);
    }
    if (status == SH_OK) {
        *order = found;
    }
    return status;
}
