/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shot/pull.h"

#include <math.h>
#include <stdlib.h>

#include "signal/moving.h"

#define RATE_MAX_HZ 1.0e6

static enum sh_status allocate(struct sh_pull *pull)
{
    pull->force_n = calloc(pull->capacity, sizeof *pull->force_n);
    pull->mean_n = calloc(pull->capacity, sizeof *pull->mean_n);
    pull->slope_n_per_s = calloc(pull->capacity, sizeof *pull->slope_n_per_s);
    if (pull->force_n == NULL || pull->mean_n == NULL || pull->slope_n_per_s == NULL) {
        return SH_ERR_MEMORY;
    }
    return SH_OK;
}

enum sh_status sh_pull_open(double frame_rate_hz,
                            size_t n_frames_max,
                            struct sh_pull **out,
                            struct sh_error *err)
{
    if (!(frame_rate_hz >= SH_PULL_RATE_MIN_HZ && frame_rate_hz <= RATE_MAX_HZ)) {
        return sh_error_set(err, SH_ERR_ARGUMENT, "force", "record at 10 Hz to 1 MHz",
                            "draws cannot be found at %g Hz", frame_rate_hz);
    }
    struct sh_pull *pull = calloc(1, sizeof *pull);
    if (pull == NULL) {
        return sh_error_set(err, SH_ERR_MEMORY, "force", NULL, "no memory for a draw");
    }
    pull->frame_rate_hz = frame_rate_hz;
    pull->n_average = (size_t)fmax(1.0, floor(frame_rate_hz / SH_PULL_RATE_HZ));
    pull->rate_hz = frame_rate_hz / (double)pull->n_average;
    pull->capacity = n_frames_max / pull->n_average + 1;
    pull->n_mean_window = sh_moving_window(SH_PULL_MEAN_S, pull->rate_hz);
    enum sh_status status = sh_gauss_open(SH_PULL_SIGMA_S * pull->rate_hz, &pull->gauss, err);
    if (status == SH_OK) {
        status = allocate(pull);
    }
    if (status != SH_OK) {
        sh_pull_close(&pull);
        return sh_error_set(err, status, "force", NULL, "no memory for a draw");
    }
    *out = pull;
    return SH_OK;
}

void sh_pull_close(struct sh_pull **pull)
{
    if (pull == NULL || *pull == NULL) {
        return;
    }
    sh_gauss_close(&(*pull)->gauss);
    free((*pull)->force_n);
    free((*pull)->mean_n);
    free((*pull)->slope_n_per_s);
    free(*pull);
    *pull = NULL;
}

enum sh_status
sh_pull_load(struct sh_pull *pull, const double *net_n, size_t n_frames, double noise_n)
{
    const size_t n_average = pull->n_average;
    pull->n = n_frames / n_average;
    if (pull->n > pull->capacity) {
        pull->n = pull->capacity;
    }
    pull->n_means = 0;
    pull->n_slopes = 0;
    pull->noise_n = noise_n / sqrt((double)n_average);
    if (pull->n < 2 || pull->n < pull->n_mean_window) {
        return SH_ERR_SHORT;
    }
    for (size_t i = 0; i < pull->n; i++) {
        double sum_n = 0.0;
        for (size_t j = 0; j < n_average; j++) {
            sum_n += net_n[i * n_average + j];
        }
        pull->force_n[i] = sum_n / (double)n_average;
    }
    pull->n_means = pull->n - pull->n_mean_window + 1;
    return sh_moving_mean(pull->force_n, pull->n, pull->n_mean_window, pull->mean_n);
}

enum sh_status sh_pull_find_slope(struct sh_pull *pull, size_t first, size_t end)
{
    if (end > pull->n || first + 2 > end) {
        return SH_ERR_SHORT;
    }
    pull->n_slopes = end - first;
    return sh_gauss_slope(pull->gauss, pull->force_n + first, pull->n_slopes, pull->rate_hz,
                          pull->slope_n_per_s);
}

double sh_pull_get_frame(const struct sh_pull *pull, double average)
{
    const double n = (double)pull->n_average;
    return n * average + 0.5 * (n - 1.0);
}

double sh_pull_get_mean_frame(const struct sh_pull *pull, double mean)
{
    return sh_pull_get_frame(pull, mean + 0.5 * ((double)pull->n_mean_window - 1.0));
}

size_t sh_pull_get_average(const struct sh_pull *pull, size_t frame)
{
    const size_t average = frame / pull->n_average;
    return average < pull->n ? average : pull->n - 1;
}

double sh_pull_get_largest(const struct sh_pull *pull, size_t first, size_t end, size_t *mean)
{
    *mean = first < pull->n_means ? first : pull->n_means - 1;
    for (size_t i = *mean; i < pull->n_means && i + pull->n_mean_window <= end; i++) {
        if (pull->mean_n[i] > pull->mean_n[*mean]) {
            *mean = i;
        }
    }
    return pull->mean_n[*mean];
}
