/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/padded_power.h"

#include <stdlib.h>
#include <string.h>

#include "signal/fft.h"

#define SHORTEST 2048u /* of the grids: 2048, 4096 ... below n_fft */
#define GRIDS    8u

struct sh_padded_power {
    size_t n_fft;
    size_t n_grids;
    struct sh_fft *grid[GRIDS + 1]; /* ascending; the last one has n_fft points */
    size_t used;                    /* grid of this sum */
    size_t n;                       /* samples of its series */
    double *sum;                    /* [n_fft / 2 + 1], on the grid used */
    double *lags;                   /* [n_fft] */
    double (*spectrum)[2];          /* [n_fft / 2 + 1] */
};

static enum sh_status open_grids(struct sh_padded_power *p, struct sh_error *err)
{
    enum sh_status status = SH_OK;
    size_t length = SHORTEST;
    while (status == SH_OK && p->n_grids < GRIDS && length < p->n_fft) {
        status = sh_fft_open(length, &p->grid[p->n_grids++], err);
        length *= 2;
    }
    return status == SH_OK ? sh_fft_open(p->n_fft, &p->grid[p->n_grids++], err) : status;
}

enum sh_status
sh_padded_power_open(size_t n_fft, struct sh_padded_power **out, struct sh_error *err)
{
    struct sh_padded_power *p = calloc(1, sizeof(*p));
    if (p == NULL) {
        return sh_error_set(err, SH_ERR_MEMORY, "spectrum", NULL, "no memory");
    }
    p->n_fft = n_fft;
    enum sh_status status = open_grids(p, err);
    if (status != SH_OK) {
        goto out;
    }
    p->sum = calloc(n_fft / 2 + 1, sizeof(*p->sum));
    p->lags = calloc(n_fft, sizeof(*p->lags));
    p->spectrum = calloc(n_fft / 2 + 1, sizeof(*p->spectrum));
    if (p->sum == NULL || p->lags == NULL || p->spectrum == NULL) {
        status = sh_error_set(err, SH_ERR_MEMORY, "spectrum", NULL, "no memory for %zu samples",
                              n_fft);
        goto out;
    }
    *out = p;
    p = NULL;
out:
    sh_padded_power_close(&p);
    return status;
}

void sh_padded_power_close(struct sh_padded_power **power)
{
    if (power == NULL || *power == NULL) {
        return;
    }
    for (size_t i = 0; i < (*power)->n_grids; i++) {
        sh_fft_close(&(*power)->grid[i]);
    }
    free((*power)->sum);
    free((*power)->lags);
    free((*power)->spectrum);
    free(*power);
    *power = NULL;
}

void sh_padded_power_start(struct sh_padded_power *power, size_t n)
{
    size_t i = 0;
    while (i + 1 < power->n_grids && sh_fft_get_length(power->grid[i]) < 2 * n) {
        i++;
    }
    power->used = i;
    power->n = n;
    memset(power->sum, 0, sh_fft_get_bins(power->grid[i]) * sizeof(*power->sum));
}

enum sh_status
sh_padded_power_add(struct sh_padded_power *power, const double *x, double weight)
{
    struct sh_fft *fft = power->grid[power->used];
    enum sh_status status = sh_fft_forward(fft, x, power->n, power->spectrum);
    if (status != SH_OK) {
        return status;
    }
    size_t n_bins = sh_fft_get_bins(fft);
    for (size_t i = 0; i < n_bins; i++) {
        const double *y = power->spectrum[i];
        power->sum[i] += weight * (y[0] * y[0] + y[1] * y[1]);
    }
    return SH_OK;
}

enum sh_status sh_padded_power_finish(struct sh_padded_power *power, double *out)
{
    struct sh_fft *fft = power->grid[power->used];
    size_t n_bins = sh_fft_get_bins(fft);
    if (power->used + 1 == power->n_grids) {
        memcpy(out, power->sum, n_bins * sizeof(*out));
        return SH_OK;
    }
    for (size_t i = 0; i < n_bins; i++) {
        power->spectrum[i][0] = power->sum[i];
        power->spectrum[i][1] = 0.0;
    }
    enum sh_status status = sh_fft_inverse(fft, power->spectrum, power->lags);
    if (status != SH_OK) {
        return status;
    }
    for (size_t i = 1; i < power->n; i++) {
        power->lags[i] *= 2.0; /* for the lag to the other side */
    }
    struct sh_fft *full = power->grid[power->n_grids - 1];
    status = sh_fft_forward(full, power->lags, power->n, power->spectrum);
    if (status != SH_OK) {
        return status;
    }
    n_bins = sh_fft_get_bins(full);
    for (size_t i = 0; i < n_bins; i++) {
        double value = power->spectrum[i][0];
        out[i] = value > 0.0 ? value : 0.0;
    }
    return SH_OK;
}
