/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/multitaper.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/units.h"
#include "signal/chi_square.h"
#include "signal/dpss.h"
#include "signal/fft.h"
#include "signal/padded_power.h"
#include "signal/tapers.h"

#define ADAPTIVE_ROUNDS_MAX 100
#define ADAPTIVE_CHANGE     1e-10 /* relative */
#define BOUND_FACTOR        1.5   /* of the F test's frequency over the Cramer-Rao bound */
#define TRIES_PER_BIN       5.0   /* of F between frequencies 1 / duration apart */

struct sh_multitaper {
    struct sh_multitaper_config config;
    struct sh_fft *fft;               /* NULL with is_density_only, */
    struct sh_padded_power *power_of; /* NULL without */
    size_t n_bins;
    struct sh_tapers *tapers;
    double *product;          /* [n_max], taper times samples */
    double (*coefficient)[2]; /* [k][n_bins]; NULL with is_density_only, as the next one */
    double *estimate;         /* [k][n_bins], single-taper densities */
    double *power;            /* [n_bins] */
    double *freedom;          /* [n_bins] */
    double concentration[SH_MULTITAPER_TAPERS_MAX];
    double gain[SH_MULTITAPER_TAPERS_MAX]; /* sum of each taper */
    double variance;                       /* mean square of the present samples */
    size_t n;                              /* samples of the last window */
    size_t n_present;                      /* those of them that were there */
    double rate_hz;
    bool has_spectrum;
};

struct sh_multitaper_config sh_multitaper_config_default(void)
{
    return (struct sh_multitaper_config){.n_max = 16384, .nw = 3.0, .k = 5, .n_fft = 16384};
}

static enum sh_status check_config(const struct sh_multitaper_config *c, struct sh_error *err)
{
    if (!(c->nw >= 1.0 && c->nw <= SH_DPSS_NW_MAX)) {
        return sh_error_set(err, SH_ERR_ARGUMENT, "spectrum", "give 1 to 64",
                            "time-bandwidth product %g", c->nw);
    }
    if (c->k < 2 || c->k > SH_MULTITAPER_TAPERS_MAX || (double)c->k > 2.0 * c->nw) {
        return sh_error_set(err, SH_ERR_ARGUMENT, "spectrum",
                            "give 2 to 16, and no more than twice the time-bandwidth product",
                            "%zu tapers", c->k);
    }
    if (c->is_adaptive && c->is_density_only) {
        return sh_error_set(err, SH_ERR_ARGUMENT, "spectrum", NULL,
                            "adaptive weights need each taper's own spectrum");
    }
    if (c->n_max < 2 * c->k || c->n_max > SH_DPSS_LENGTH_MAX) {
        return sh_error_set(err, SH_ERR_ARGUMENT, "spectrum",
                            "give at least twice as many as tapers, at most 4194304",
                            "longest window %zu samples", c->n_max);
    }
    if (c->n_fft < c->n_max || c->n_fft > SH_FFT_LENGTH_MAX) {
        return sh_error_set(err, SH_ERR_ARGUMENT, "spectrum",
                            "give at least the longest window, at most 16777216",
                            "padded length %zu", c->n_fft);
    }
    return SH_OK;
}

static bool allocate_arrays(struct sh_multitaper *m)
{
    size_t k = m->config.k;
    m->product = calloc(m->config.n_max, sizeof(*m->product));
    m->power = calloc(m->n_bins, sizeof(*m->power));
    m->freedom = calloc(m->n_bins, sizeof(*m->freedom));
    bool is_good = m->product != NULL && m->power != NULL && m->freedom != NULL;
    if (is_good && !m->config.is_density_only) {
        m->coefficient = calloc(k * m->n_bins, sizeof(*m->coefficient));
        m->estimate = calloc(k * m->n_bins, sizeof(*m->estimate));
        is_good = m->coefficient != NULL && m->estimate != NULL;
    }
    return is_good;
}

enum sh_status sh_multitaper_open(const struct sh_multitaper_config *config,
                                  struct sh_multitaper **out,
                                  struct sh_error *err)
{
    enum sh_status status = check_config(config, err);
    if (status != SH_OK) {
        return status;
    }
    struct sh_multitaper *m = calloc(1, sizeof(*m));
    if (m == NULL) {
        status = SH_ERR_MEMORY;
        goto out;
    }
    m->config = *config;
    m->n_bins = config->n_fft / 2 + 1;
    status = config->is_density_only ? sh_padded_power_open(config->n_fft, &m->power_of, err)
                                     : sh_fft_open(config->n_fft, &m->fft, err);
    if (status != SH_OK) {
        goto out;
    }
    status = sh_tapers_open(config->n_max, config->nw, config->k, &m->tapers);
    if (status != SH_OK) {
        goto out;
    }
    if (!allocate_arrays(m)) {
        status = SH_ERR_MEMORY;
        goto out;
    }
    *out = m;
    m = NULL;
out:
    sh_multitaper_close(&m);
    if (status != SH_OK) {
        return sh_error_set(err, status, "spectrum", NULL, "no memory for its workspace");
    }
    return status;
}

void sh_multitaper_close(struct sh_multitaper **multitaper)
{
    if (multitaper == NULL || *multitaper == NULL) {
        return;
    }
    struct sh_multitaper *m = *multitaper;
    sh_fft_close(&m->fft);
    sh_padded_power_close(&m->power_of);
    sh_tapers_close(&m->tapers);
    free(m->product);
    free(m->coefficient);
    free(m->estimate);
    free(m->power);
    free(m->freedom);
    free(m);
    *multitaper = NULL;
}

static enum sh_status check_window(struct sh_multitaper *m,
                                   const struct sh_multitaper_window *w)
{
    if (w->n > m->config.n_max || !(w->rate_hz > 0.0) || !isfinite(w->rate_hz)) {
        return SH_ERR_ARGUMENT;
    }
    m->n_present = 0;
    m->variance = 0.0;
    for (size_t i = 0; i < w->n; i++) {
        if (w->present != NULL && !w->present[i]) {
            continue;
        }
        if (!isfinite(w->x[i])) {
            return SH_ERR_NOT_FINITE;
        }
        m->n_present++;
        m->variance += w->x[i] * w->x[i];
    }
    double needed = fmax(2.0 * (double)m->config.k, 2.0 * m->config.nw + 2.0);
    if ((double)m->n_present < needed) {
        return SH_ERR_SHORT;
    }
    m->variance /= (double)m->n_present;
    return SH_OK;
}

/* x times taper k into m->product, absent samples 0. */
static void apply_taper(struct sh_multitaper *m, const struct sh_multitaper_window *w, size_t k)
{
    const double *taper = sh_tapers_get(m->tapers, k);
    m->concentration[k] = sh_tapers_get_concentration(m->tapers, k);
    for (size_t i = 0; i < w->n; i++) {
        bool is_present = w->present == NULL || w->present[i];
        m->product[i] = is_present ? taper[i] * w->x[i] : 0.0;
    }
}

static enum sh_status transform_tapered(struct sh_multitaper *m,
                                        const struct sh_multitaper_window *w)
{
    for (size_t k = 0; k < m->config.k; k++) {
        const double *taper = sh_tapers_get(m->tapers, k);
        double(*coefficient)[2] = m->coefficient + k * m->n_bins;
        double *estimate = m->estimate + k * m->n_bins;
        m->gain[k] = 0.0;
        for (size_t i = 0; i < w->n; i++) {
            m->gain[k] += taper[i];
        }
        apply_taper(m, w, k);
        enum sh_status status = sh_fft_forward(m->fft, m->product, w->n, coefficient);
        if (status != SH_OK) {
            return status;
        }
        for (size_t i = 0; i < m->n_bins; i++) {
            bool is_single = i == 0 || 2 * i == m->config.n_fft;
            double size2 =
                coefficient[i][0] * coefficient[i][0] + coefficient[i][1] * coefficient[i][1];
            estimate[i] = (is_single ? 1.0 : 2.0) * size2 / w->rate_hz;
        }
    }
    return SH_OK;
}

/* Weighted mean of a bin's estimates without taper skip (k or more: with all). */
static double
average(const struct sh_multitaper *m, size_t bin, const double *weight, size_t skip)
{
    double sum = 0.0;
    double weights = 0.0;
    for (size_t k = 0; k < m->config.k; k++) {
        if (k != skip) {
            sum += weight[k] * m->estimate[k * m->n_bins + bin];
            weights += weight[k];
        }
    }
    return sum / weights;
}

/* Thomson's adaptive weights of one bin (Percival & Walden 1993, eqs. 368a and 370a). */
static void adapt_weights(const struct sh_multitaper *m, size_t bin, double *weight)
{
    size_t n_k = m->config.k;
    bool is_single = bin == 0 || 2 * bin == m->config.n_fft;
    double broad = (is_single ? 1.0 : 2.0) * m->variance / m->rate_hz;
    const double *estimate = m->estimate + bin;
    double s = 0.5 * (estimate[0] + estimate[m->n_bins]);
    for (int round = 0; round < ADAPTIVE_ROUNDS_MAX && s > 0.0; round++) {
        for (size_t k = 0; k < n_k; k++) {
            double c = m->concentration[k];
            double b = s / (c * s + (1.0 - c) * broad);
            weight[k] = b * b * c;
        }
        double next = average(m, bin, weight, n_k);
        bool is_settled = fabs(next - s) <= ADAPTIVE_CHANGE * s;
        s = next;
        if (is_settled) {
            break;
        }
    }
}

static void set_weights(const struct sh_multitaper *m, size_t bin, double *weight)
{
    memcpy(weight, m->concentration, m->config.k * sizeof(*weight));
    if (m->config.is_adaptive) {
        adapt_weights(m, bin, weight);
    }
}

static void combine_estimates(struct sh_multitaper *m)
{
    for (size_t i = 0; i < m->n_bins; i++) {
        double weight[SH_MULTITAPER_TAPERS_MAX];
        set_weights(m, i, weight);
        double sum = 0.0;
        double squares = 0.0;
        for (size_t k = 0; k < m->config.k; k++) {
            sum += weight[k];
            squares += weight[k] * weight[k];
        }
        m->power[i] = average(m, i, weight, m->config.k);
        m->freedom[i] = 2.0 * sum * sum / squares;
    }
}

/* The density and its freedom alone, weighted by concentration. */
static enum sh_status add_tapered(struct sh_multitaper *m, const struct sh_multitaper_window *w)
{
    enum sh_status status = SH_OK;
    double sum = 0.0;
    double squares = 0.0;
    sh_padded_power_start(m->power_of, w->n);
    for (size_t k = 0; status == SH_OK && k < m->config.k; k++) {
        apply_taper(m, w, k);
        sum += m->concentration[k];
        squares += m->concentration[k] * m->concentration[k];
        status = sh_padded_power_add(m->power_of, m->product, m->concentration[k]);
    }
    if (status == SH_OK) {
        status = sh_padded_power_finish(m->power_of, m->power);
    }
    for (size_t i = 0; i < m->n_bins; i++) {
        bool is_single = i == 0 || 2 * i == m->config.n_fft;
        m->power[i] *= (is_single ? 1.0 : 2.0) / (sum * w->rate_hz);
        m->freedom[i] = 2.0 * sum * sum / squares;
    }
    return status;
}

enum sh_status sh_multitaper_run(struct sh_multitaper *multitaper,
                                 const struct sh_multitaper_window *window)
{
    struct sh_multitaper *m = multitaper;
    m->has_spectrum = false;
    enum sh_status status = check_window(m, window);
    if (status == SH_OK) {
        status = sh_tapers_make(m->tapers, window->present, window->n);
    }
    if (status == SH_OK) {
        status =
            m->config.is_density_only ? add_tapered(m, window) : transform_tapered(m, window);
    }
    if (status == SH_OK) {
        m->rate_hz = window->rate_hz;
        m->n = window->n;
        m->has_spectrum = true;
    }
    if (status == SH_OK && !m->config.is_density_only) {
        combine_estimates(m);
    }
    return status;
}

enum sh_status sh_multitaper_get_psd(const struct sh_multitaper *multitaper, struct sh_psd *psd)
{
    const struct sh_multitaper *m = multitaper;
    if (!m->has_spectrum) {
        return SH_ERR_NOT_FOUND;
    }
    double duration_s = (double)m->n_present / m->rate_hz;
    *psd = (struct sh_psd){.power = m->power,
                           .n_bins = m->n_bins,
                           .bin_hz = m->rate_hz / (double)m->config.n_fft,
                           .duration_s = duration_s,
                           .half_band_hz = m->config.nw * m->rate_hz / (double)m->n};
    return SH_OK;
}

double sh_multitaper_get_concentration(const struct sh_multitaper *multitaper)
{
    double least = multitaper->has_spectrum ? 1.0 : 0.0;
    for (size_t k = 0; k < multitaper->config.k; k++) {
        least = fmin(least, multitaper->concentration[k]);
    }
    return least;
}

double sh_multitaper_get_freedom(const struct sh_multitaper *multitaper, size_t bin)
{
    return multitaper->freedom[bin];
}

enum sh_status sh_multitaper_get_limits(const struct sh_multitaper *multitaper,
                                        size_t bin,
                                        double probability,
                                        double *lo,
                                        double *hi)
{
    if (bin >= multitaper->n_bins || !(probability > 0.0 && probability < 1.0)) {
        return SH_ERR_ARGUMENT;
    }
    if (!multitaper->has_spectrum) {
        return SH_ERR_NOT_FOUND;
    }
    double freedom = multitaper->freedom[bin];
    double scaled = freedom * multitaper->power[bin];
    *lo = scaled / sh_chi_square_get_quantile(0.5 + 0.5 * probability, freedom);
    *hi = scaled / sh_chi_square_get_quantile(0.5 - 0.5 * probability, freedom);
    return SH_OK;
}

enum sh_status
sh_multitaper_get_jackknife(const struct sh_multitaper *multitaper, size_t bin, double *log_u)
{
    const struct sh_multitaper *m = multitaper;
    if (bin >= m->n_bins) {
        return SH_ERR_ARGUMENT;
    }
    if (!m->has_spectrum || m->config.is_density_only) {
        return SH_ERR_NOT_FOUND;
    }
    size_t n_k = m->config.k;
    double weight[SH_MULTITAPER_TAPERS_MAX];
    double without[SH_MULTITAPER_TAPERS_MAX];
    double mean = 0.0;
    set_weights(m, bin, weight);
    for (size_t k = 0; k < n_k; k++) {
        double s = average(m, bin, weight, k);
        if (!(s > 0.0)) {
            return SH_ERR_SINGULAR;
        }
        without[k] = log(s);
        mean += without[k] / (double)n_k;
    }
    double sum = 0.0;
    for (size_t k = 0; k < n_k; k++) {
        sum += (without[k] - mean) * (without[k] - mean);
    }
    *log_u = sqrt(sum * (double)(n_k - 1) / (double)n_k);
    return SH_OK;
}

/* F and the complex amplitude of a line at one bin. */
struct line_test {
    double f;
    double amplitude;
    double noise; /* one-sided density beside the line */
};

static struct line_test test_bin(const struct sh_multitaper *m, size_t bin)
{
    double re = 0.0;
    double im = 0.0;
    double gains = 0.0;
    for (size_t k = 0; k < m->config.k; k++) {
        const double *y = m->coefficient[k * m->n_bins + bin];
        re += m->gain[k] * y[0];
        im += m->gain[k] * y[1];
        gains += m->gain[k] * m->gain[k];
    }
    re /= gains;
    im /= gains;
    double rest = 0.0;
    for (size_t k = 0; k < m->config.k; k++) {
        const double *y = m->coefficient[k * m->n_bins + bin];
        double a = y[0] - re * m->gain[k];
        double b = y[1] - im * m->gain[k];
        rest += a * a + b * b;
    }
    double n = (double)(m->config.k - 1);
    double size2 = re * re + im * im;
    double floor_rest = 1e-30 * size2 * gains; /* a pure tone leaves nothing but rounding */
    return (struct line_test){.f = n * size2 * gains / fmax(rest, fmax(floor_rest, 1e-300)),
                              .amplitude = 2.0 * sqrt(size2),
                              .noise = 2.0 * rest / n / m->rate_hz};
}

static double find_offset(double before, double at, double after)
{
    double bend = before - 2.0 * at + after;
    double offset = bend < 0.0 ? 0.5 * (before - after) / bend : 0.0;
    return fmin(fmax(offset, -0.5), 0.5);
}

enum sh_status sh_multitaper_find_line(const struct sh_multitaper *multitaper,
                                       double lo_hz,
                                       double hi_hz,
                                       struct sh_multitaper_line *out)
{
    struct sh_psd psd;
    enum sh_status status = sh_multitaper_get_psd(multitaper, &psd);
    if (status != SH_OK || multitaper->config.is_density_only) {
        return SH_ERR_NOT_FOUND;
    }
    double top_hz = psd.bin_hz * (double)(psd.n_bins - 1);
    if (!(lo_hz >= 0.0 && hi_hz > lo_hz && hi_hz <= top_hz)) {
        return SH_ERR_ARGUMENT;
    }
    size_t first = (size_t)fmax(ceil(lo_hz / psd.bin_hz), 1.0);
    size_t last = (size_t)fmin(floor(hi_hz / psd.bin_hz), (double)(psd.n_bins - 2));
    if (first > last) {
        return SH_ERR_ARGUMENT;
    }
    struct line_test best = {-1.0, 0.0, 0.0};
    size_t top = first;
    for (size_t i = first; i <= last; i++) {
        struct line_test here = test_bin(multitaper, i);
        if (here.f > best.f) {
            best = here;
            top = i;
        }
    }
    double offset =
        find_offset(test_bin(multitaper, top - 1).f, best.f, test_bin(multitaper, top + 1).f);
    double t = psd.duration_s;
    double bound = 0.0;
    if (best.amplitude > 0.0) {
        bound = sqrt(3.0 * best.noise / (t * t * t)) / (SH_PI * best.amplitude);
    }
    double freedom = (double)(multitaper->config.k - 1);
    double p = pow(1.0 + best.f / freedom, -freedom);
    double n_tries = TRIES_PER_BIN * fmax((hi_hz - lo_hz) * t, 1.0);
    *out = (struct sh_multitaper_line){
        .frequency_hz =
            sh_quantity_known(((double)top + offset) * psd.bin_hz, BOUND_FACTOR * bound),
        .amplitude = best.amplitude,
        .f = best.f,
        .p_value = -expm1(n_tries * log1p(-fmin(p, 1.0)))};
    return SH_OK;
}
