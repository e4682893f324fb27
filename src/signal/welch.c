/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/welch.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/units.h"
#include "signal/fft.h"

#define SEGMENT_LEAST   4u
#define HANN_HALF_WIDTH 0.72 /* bins, half of the half-power width */

struct sh_welch {
    struct sh_welch_config config;
    size_t n_bins;
    struct sh_fft *fft;
    double window_squares;    /* sum of the window's squares */
    double *window;           /* [n_segment] */
    double *segment;          /* [n_segment] */
    double (*spectrum)[2][2]; /* [n_bins][x, y][re, im], of one segment */
    double (*transform)[2];   /* [n_bins] */
    double *power[2];         /* [n_bins], of x and y */
    double (*cross)[2];       /* [n_bins] */
};

static bool allocate_arrays(struct sh_welch *w)
{
    w->window = calloc(w->config.n_segment, sizeof(*w->window));
    w->segment = calloc(w->config.n_segment, sizeof(*w->segment));
    w->spectrum = calloc(w->n_bins, sizeof(*w->spectrum));
    w->transform = calloc(w->n_bins, sizeof(*w->transform));
    w->power[0] = calloc(w->n_bins, sizeof(double));
    w->power[1] = calloc(w->n_bins, sizeof(double));
    w->cross = calloc(w->n_bins, sizeof(*w->cross));
    return w->window != NULL && w->segment != NULL && w->spectrum != NULL &&
           w->transform != NULL && w->power[0] != NULL && w->power[1] != NULL &&
           w->cross != NULL;
}

enum sh_status
sh_welch_open(const struct sh_welch_config *config, struct sh_welch **out, struct sh_error *err)
{
    if (config->n_segment < SEGMENT_LEAST || config->n_segment > SH_FFT_LENGTH_MAX ||
        config->n_overlap >= config->n_segment) {
        return sh_error_set(err, SH_ERR_ARGUMENT, "segments",
                            "give at least 4 samples and an overlap below that",
                            "%zu samples overlapping by %zu", config->n_segment,
                            config->n_overlap);
    }
    struct sh_welch *w = calloc(1, sizeof(*w));
    enum sh_status status = SH_ERR_MEMORY;
    if (w == NULL) {
        goto out;
    }
    w->config = *config;
    w->n_bins = config->n_segment / 2 + 1;
    status = sh_fft_open(config->n_segment, &w->fft, err);
    if (status != SH_OK) {
        goto out;
    }
    if (!allocate_arrays(w)) {
        status = SH_ERR_MEMORY;
        goto out;
    }
    for (size_t i = 0; i < config->n_segment; i++) {
        w->window[i] = 0.5 - 0.5 * cos(2.0 * SH_PI * (double)i / (double)config->n_segment);
        w->window_squares += w->window[i] * w->window[i];
    }
    *out = w;
    return SH_OK;
out:
    sh_welch_close(&w);
    return sh_error_set(err, status, "segments", NULL, "no memory for the workspace");
}

void sh_welch_close(struct sh_welch **welch)
{
    if (welch == NULL || *welch == NULL) {
        return;
    }
    struct sh_welch *w = *welch;
    sh_fft_close(&w->fft);
    free(w->window);
    free(w->segment);
    free(w->spectrum);
    free(w->transform);
    free(w->power[0]);
    free(w->power[1]);
    free(w->cross);
    free(w);
    *welch = NULL;
}

size_t sh_welch_get_bins(const struct sh_welch *welch)
{
    return welch->n_bins;
}

/* Spectrum of one windowed segment into channel 0 (x) or 1 (y). */
static enum sh_status transform_segment(struct sh_welch *w, const double *x, size_t channel)
{
    size_t n = w->config.n_segment;
    double mean = 0.0;
    for (size_t i = 0; w->config.removes_mean && i < n; i++) {
        mean += x[i] / (double)n;
    }
    for (size_t i = 0; i < n; i++) {
        w->segment[i] = (x[i] - mean) * w->window[i];
    }
    enum sh_status status = sh_fft_forward(w->fft, w->segment, n, w->transform);
    if (status != SH_OK) {
        return status;
    }
    for (size_t i = 0; i < w->n_bins; i++) {
        memcpy(w->spectrum[i][channel], w->transform[i], sizeof(w->transform[i]));
        w->power[channel][i] +=
            w->transform[i][0] * w->transform[i][0] + w->transform[i][1] * w->transform[i][1];
    }
    return SH_OK;
}

static void add_cross(struct sh_welch *w)
{
    for (size_t i = 0; i < w->n_bins; i++) {
        const double *x = w->spectrum[i][0];
        const double *y = w->spectrum[i][1];
        w->cross[i][0] += x[0] * y[0] + x[1] * y[1];
        w->cross[i][1] += x[0] * y[1] - x[1] * y[0];
    }
}

static bool is_present(const struct sh_welch_series *s, size_t i)
{
    return s->present == NULL || s->present[i];
}

/* The segment of n samples from first on has no gap. */
static bool is_whole(const struct sh_welch_series *s, size_t first, size_t n)
{
    for (size_t i = first; s->present != NULL && i < first + n; i++) {
        if (!s->present[i]) {
            return false;
        }
    }
    return true;
}

static bool is_all_finite(const struct sh_welch_series *s)
{
    for (size_t i = 0; i < s->n; i++) {
        if (is_present(s, i) && !(isfinite(s->x[i]) && (s->y == NULL || isfinite(s->y[i])))) {
            return false;
        }
    }
    return true;
}

size_t sh_welch_count_segments(const struct sh_welch *welch,
                               const struct sh_welch_series *series)
{
    const size_t n = welch->config.n_segment;
    size_t n_segments = 0;
    for (size_t first = 0; first + n <= series->n; first += n - welch->config.n_overlap) {
        n_segments += is_whole(series, first, n) ? 1 : 0;
    }
    return n_segments;
}

/* Sums the spectra of all whole segments, *n_used samples together; with y the cross spectra
 * too. n_least: so many segments at least. */
static enum sh_status sum_segments(struct sh_welch *w,
                                   const struct sh_welch_series *s,
                                   size_t n_least,
                                   size_t *n_segments,
                                   size_t *n_used)
{
    size_t n = w->config.n_segment;
    if (!(s->rate_hz > 0.0) || !isfinite(s->rate_hz)) {
        return SH_ERR_ARGUMENT;
    }
    if (sh_welch_count_segments(w, s) < n_least) {
        return SH_ERR_SHORT;
    }
    if (!is_all_finite(s)) {
        return SH_ERR_NOT_FINITE;
    }
    memset(w->power[0], 0, w->n_bins * sizeof(double));
    memset(w->power[1], 0, w->n_bins * sizeof(double));
    memset(w->cross, 0, w->n_bins * sizeof(*w->cross));
    *n_segments = 0;
    *n_used = 0;
    size_t end = 0; /* of the last one used */
    enum sh_status status = SH_OK;
    for (size_t first = 0; first + n <= s->n && status == SH_OK;
         first += n - w->config.n_overlap) {
        if (!is_whole(s, first, n)) {
            continue;
        }
        *n_used += first + n - (first > end ? first : end);
        end = first + n;
        status = transform_segment(w, s->x + first, 0);
        if (status == SH_OK && s->y != NULL) {
            status = transform_segment(w, s->y + first, 1);
            add_cross(w);
        }
        (*n_segments)++;
    }
    return status;
}

enum sh_status
sh_welch_run(struct sh_welch *welch, const struct sh_welch_series *series, struct sh_psd *psd)
{
    struct sh_welch *w = welch;
    struct sh_welch_series only_x = *series;
    only_x.y = NULL;
    size_t n_segments = 0;
    size_t n_used = 0;
    enum sh_status status = sum_segments(w, &only_x, 1, &n_segments, &n_used);
    if (status != SH_OK) {
        return status;
    }
    double scale = 1.0 / (series->rate_hz * w->window_squares * (double)n_segments);
    for (size_t i = 0; i < w->n_bins; i++) {
        bool is_single = i == 0 || 2 * i == w->config.n_segment;
        w->power[0][i] *= is_single ? scale : 2.0 * scale;
    }
    double bin_hz = series->rate_hz / (double)w->config.n_segment;
    *psd = (struct sh_psd){.power = w->power[0],
                           .n_bins = w->n_bins,
                           .bin_hz = bin_hz,
                           .duration_s = (double)n_used / series->rate_hz,
                           .half_band_hz = HANN_HALF_WIDTH * bin_hz};
    return SH_OK;
}

enum sh_status sh_welch_get_coherence(struct sh_welch *welch,
                                      const struct sh_welch_series *series,
                                      double *coherence)
{
    struct sh_welch *w = welch;
    if (series->y == NULL) {
        return SH_ERR_ARGUMENT;
    }
    size_t n_segments = 0;
    size_t n_used = 0;
    enum sh_status status = sum_segments(w, series, 2, &n_segments, &n_used);
    for (size_t i = 0; status == SH_OK && i < w->n_bins; i++) {
        double size2 = w->cross[i][0] * w->cross[i][0] + w->cross[i][1] * w->cross[i][1];
        double powers = w->power[0][i] * w->power[1][i];
        coherence[i] = powers > 0.0 ? fmin(size2 / powers, 1.0) : 0.0;
    }
    return status;
}
