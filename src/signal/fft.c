/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/fft.h"

#include <fftw3.h>
#include <pthread.h>
#include <stdlib.h>
#include <string.h>

#include "signal/finite.h"

/*
 * FFTW's planner is the one part of it that is not safe between threads, so the lock must be
 * one for the process: the only mutable static of this stage.
 */
/* NOLINTNEXTLINE(cppcoreguidelines-avoid-non-const-global-variables) */
static pthread_mutex_t planner_lock = PTHREAD_MUTEX_INITIALIZER;

struct sh_fft {
    size_t n;
    double *real;           /* [n], from fftw_malloc */
    fftw_complex *spectrum; /* [n / 2 + 1], from fftw_malloc */
    fftw_plan forward;
    fftw_plan inverse;
};

static void make_plans(struct sh_fft *fft)
{
    /* The planner answers only a failure of its own, never one of the lock. */
    (void)pthread_mutex_lock(&planner_lock);
    fft->forward = fftw_plan_dft_r2c_1d((int)fft->n, fft->real, fft->spectrum, FFTW_ESTIMATE);
    fft->inverse = fftw_plan_dft_c2r_1d((int)fft->n, fft->spectrum, fft->real, FFTW_ESTIMATE);
    (void)pthread_mutex_unlock(&planner_lock);
}

static void destroy_plans(struct sh_fft *fft)
{
    (void)pthread_mutex_lock(&planner_lock);
    if (fft->forward != NULL) {
        fftw_destroy_plan(fft->forward);
    }
    if (fft->inverse != NULL) {
        fftw_destroy_plan(fft->inverse);
    }
    (void)pthread_mutex_unlock(&planner_lock);
}

enum sh_status sh_fft_open(size_t n, struct sh_fft **out, struct sh_error *err)
{
    if (n < 1 || n > SH_FFT_LENGTH_MAX) {
        return sh_error_set(err, SH_ERR_ARGUMENT, "transform length", "give 1 to 16777216",
                            "%zu samples", n);
    }
    enum sh_status status = SH_ERR_MEMORY;
    struct sh_fft *fft = calloc(1, sizeof(*fft));
    if (fft == NULL) {
        goto out;
    }
    fft->n = n;
    fft->real = fftw_malloc(n * sizeof(*fft->real));
    fft->spectrum = fftw_malloc((n / 2 + 1) * sizeof(*fft->spectrum));
    if (fft->real == NULL || fft->spectrum == NULL) {
        goto out;
    }
    make_plans(fft);
    if (fft->forward == NULL || fft->inverse == NULL) {
        goto out;
    }
    *out = fft;
    fft = NULL;
    status = SH_OK;
out:
    sh_fft_close(&fft);
    if (status != SH_OK) {
        return sh_error_set(err, status, "transform", NULL, "no memory for %zu samples", n);
    }
    return status;
}

void sh_fft_close(struct sh_fft **fft)
{
    if (fft == NULL || *fft == NULL) {
        return;
    }
    destroy_plans(*fft);
    fftw_free((*fft)->real);
    fftw_free((*fft)->spectrum);
    free(*fft);
    *fft = NULL;
}

size_t sh_fft_get_length(const struct sh_fft *fft)
{
    return fft->n;
}

size_t sh_fft_get_bins(const struct sh_fft *fft)
{
    return fft->n / 2 + 1;
}

enum sh_status
sh_fft_forward(struct sh_fft *fft, const double *x, size_t n_x, double (*spectrum)[2])
{
    if (n_x > fft->n) {
        return SH_ERR_ARGUMENT;
    }
    if (!sh_finite_is_all(x, n_x)) {
        return SH_ERR_NOT_FINITE;
    }
    if (n_x > 0) {
        memcpy(fft->real, x, n_x * sizeof(*x));
    }
    memset(fft->real + n_x, 0, (fft->n - n_x) * sizeof(*x));
    fftw_execute(fft->forward);
    memcpy(spectrum, fft->spectrum, (fft->n / 2 + 1) * sizeof(*spectrum));
    return SH_OK;
}

enum sh_status sh_fft_inverse(struct sh_fft *fft, double (*spectrum)[2], double *x)
{
    size_t n_bins = fft->n / 2 + 1;
    if (!sh_finite_is_all(&spectrum[0][0], 2 * n_bins)) {
        return SH_ERR_NOT_FINITE;
    }
    memcpy(fft->spectrum, spectrum, n_bins * sizeof(*spectrum));
    fft->spectrum[0][1] = 0.0;
    if (fft->n % 2 == 0) {
        fft->spectrum[n_bins - 1][1] = 0.0;
    }
    fftw_execute(fft->inverse);
    double scale = 1.0 / (double)fft->n;
    for (size_t i = 0; i < fft->n; i++) {
        x[i] = scale * fft->real[i];
    }
    return SH_OK;
}
