/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "metrology/crosstalk.h"

#include <math.h>
#include <string.h>

#define CHANNELS_MAX SH_STREAM_CHANNELS_MAX
#define PIVOT_MIN    0.05

static enum sh_status
check(const struct sh_crosstalk_reading *readings, size_t n, size_t n_channels)
{
    size_t n_loaded[CHANNELS_MAX] = {0};
    if (n_channels < 2 || n_channels > CHANNELS_MAX || n > SH_CROSSTALK_READINGS_MAX) {
        return SH_ERR_ARGUMENT;
    }
    for (size_t i = 0; i < n; i++) {
        if (readings[i].loaded >= n_channels || readings[i].force_n <= 0.0) {
            return SH_ERR_ARGUMENT;
        }
        double sum = readings[i].force_n;
        for (size_t k = 0; k < n_channels; k++) {
            sum += readings[i].value_n[k];
        }
        if (!isfinite(sum)) {
            return SH_ERR_NOT_FINITE;
        }
        n_loaded[readings[i].loaded]++;
    }
    for (size_t k = 0; k < n_channels; k++) {
        if (n_loaded[k] < 2) {
            return SH_ERR_SHORT;
        }
    }
    return SH_OK;
}

/* Share of loaded's force that shown shows, through zero. */
static void find_share(const struct sh_crosstalk_reading *readings,
                       size_t n,
                       size_t shown,
                       size_t loaded,
                       struct sh_crosstalk *out)
{
    double square = 0.0;
    double product = 0.0;
    double rest = 0.0;
    double freedom = -1.0;
    for (size_t i = 0; i < n; i++) {
        if (readings[i].loaded == loaded) {
            square += readings[i].force_n * readings[i].force_n;
            product += readings[i].force_n * readings[i].value_n[shown];
            freedom += 1.0;
        }
    }
    const double share = product / square;
    for (size_t i = 0; i < n; i++) {
        if (readings[i].loaded == loaded) {
            const double off = readings[i].value_n[shown] - share * readings[i].force_n;
            rest += off * off;
        }
    }
    out->share[shown][loaded] = share;
    out->share_u[shown][loaded] = sqrt(rest / freedom / square);
}

static size_t find_pivot(double a[CHANNELS_MAX][2 * CHANNELS_MAX], size_t n, size_t column)
{
    size_t best = column;
    for (size_t i = column + 1; i < n; i++) {
        best = fabs(a[i][column]) > fabs(a[best][column]) ? i : best;
    }
    return best;
}

static void swap_rows(double *a, double *b, size_t n)
{
    for (size_t k = 0; k < n; k++) {
        const double kept = a[k];
        a[k] = b[k];
        b[k] = kept;
    }
}

/* Makes a column that of the unit matrix, its pivot being in place. */
static void clear_column(double a[CHANNELS_MAX][2 * CHANNELS_MAX], size_t n, size_t column)
{
    const double divisor = a[column][column];
    for (size_t k = 0; k < 2 * n; k++) {
        a[column][k] /= divisor;
    }
    for (size_t i = 0; i < n; i++) {
        const double times = i == column ? 0.0 : a[i][column];
        for (size_t k = 0; k < 2 * n; k++) {
            a[i][k] -= times * a[column][k];
        }
    }
}

enum sh_status sh_crosstalk_invert(size_t n,
                                   double share[CHANNELS_MAX][CHANNELS_MAX],
                                   double matrix[CHANNELS_MAX][CHANNELS_MAX])
{
    double a[CHANNELS_MAX][2 * CHANNELS_MAX] = {{0}};
    for (size_t i = 0; i < n; i++) {
        memcpy(a[i], share[i], n * sizeof a[i][0]);
        a[i][n + i] = 1.0;
    }
    for (size_t column = 0; column < n; column++) {
        const size_t pivot = find_pivot(a, n, column);
        if (!(fabs(a[pivot][column]) > PIVOT_MIN)) {
            return SH_ERR_SINGULAR;
        }
        swap_rows(a[column], a[pivot], 2 * n);
        clear_column(a, n, column);
    }
    for (size_t i = 0; i < n; i++) {
        memcpy(matrix[i], a[i] + n, n * sizeof a[i][0]);
    }
    return SH_OK;
}

enum sh_status sh_crosstalk_solve(const struct sh_crosstalk_reading *readings,
                                  size_t n,
                                  size_t n_channels,
                                  struct sh_crosstalk *out)
{
    enum sh_status status = check(readings, n, n_channels);
    if (status != SH_OK) {
        return status;
    }
    struct sh_crosstalk got = {.n_channels = n_channels};
    for (size_t shown = 0; shown < n_channels; shown++) {
        for (size_t loaded = 0; loaded < n_channels; loaded++) {
            find_share(readings, n, shown, loaded, &got);
        }
    }
    status = sh_crosstalk_invert(n_channels, got.share, got.matrix);
    if (status == SH_OK) {
        *out = got;
    }
    return status;
}
