/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/envelope.h"

#include <math.h>
#include <stdlib.h>

#include "base/units.h"
#include "signal/fft.h"
#include "signal/finite.h"

#define SPAN_LEAST       8u
#define CORRELATION_MOST 0.999

struct sh_envelope {
    struct sh_fft *fft;
    double (*spectrum)[2]; /* [n / 2 + 1] */
    double *quadrature;    /* [n] */
};

enum sh_status sh_envelope_open(size_t n, struct sh_envelope **out, struct sh_error *err)
{
    if (n < 2) {
        return sh_error_set(err, SH_ERR_ARGUMENT, "envelope", "give at least 2", "%zu samples",
                            n);
    }
    struct sh_envelope *e = calloc(1, sizeof(*e));
    if (e == NULL) {
        return sh_error_set(err, SH_ERR_MEMORY, "envelope", NULL, "no memory");
    }
    enum sh_status status = sh_fft_open(n, &e->fft, err);
    if (status == SH_OK) {
        e->spectrum = calloc(n / 2 + 1, sizeof(*e->spectrum));
        e->quadrature = calloc(n, sizeof(*e->quadrature));
        status = e->spectrum == NULL || e->quadrature == NULL ? SH_ERR_MEMORY : SH_OK;
    }
    if (status != SH_OK) {
        sh_envelope_close(&e);
        return sh_error_set(err, status, "envelope", NULL, "no memory for %zu samples", n);
    }
    *out = e;
    return SH_OK;
}

void sh_envelope_close(struct sh_envelope **envelope)
{
    if (envelope == NULL || *envelope == NULL) {
        return;
    }
    sh_fft_close(&(*envelope)->fft);
    free((*envelope)->spectrum);
    free((*envelope)->quadrature);
    free(*envelope);
    *envelope = NULL;
}

/* Turns every positive frequency back by a quarter; 0 and half the rate have no quadrature. */
static void shift_quarter(double (*spectrum)[2], size_t n)
{
    size_t n_bins = n / 2 + 1;
    for (size_t i = 0; i < n_bins; i++) {
        double re = spectrum[i][0];
        spectrum[i][0] = spectrum[i][1];
        spectrum[i][1] = -re;
    }
    spectrum[0][0] = 0.0;
    spectrum[0][1] = 0.0;
    if (n % 2 == 0) {
        spectrum[n_bins - 1][0] = 0.0;
        spectrum[n_bins - 1][1] = 0.0;
    }
}

enum sh_status sh_envelope_run(struct sh_envelope *envelope,
                               const double *x,
                               double *amplitude,
                               double *phase_rad)
{
    struct sh_envelope *e = envelope;
    size_t n = sh_fft_get_length(e->fft);
    enum sh_status status = sh_fft_forward(e->fft, x, n, e->spectrum);
    if (status != SH_OK) {
        return status;
    }
    shift_quarter(e->spectrum, n);
    status = sh_fft_inverse(e->fft, e->spectrum, e->quadrature);
    if (status != SH_OK) {
        return status;
    }
    double turns = 0.0;
    double last = 0.0;
    for (size_t i = 0; i < n; i++) {
        double angle = atan2(e->quadrature[i], x[i]);
        if (i > 0) {
            turns -= round((angle - last) / (2.0 * SH_PI));
        }
        last = angle;
        if (amplitude != NULL) {
            amplitude[i] = hypot(x[i], e->quadrature[i]);
        }
        if (phase_rad != NULL) {
            phase_rad[i] = angle + 2.0 * SH_PI * turns;
        }
    }
    return SH_OK;
}

/* Slope a sample of a straight line, with a standard uncertainty. */
struct slope {
    double value;
    double u;
};

/* Residual i of the line through y[n], logarithms taken first where asked. */
static double get_value(const double *y, size_t i, bool is_log)
{
    return is_log ? log(y[i]) : y[i];
}

static struct slope fit_slope(const double *y, size_t n, bool is_log)
{
    double middle = 0.5 * (double)(n - 1);
    double mean = 0.0;
    for (size_t i = 0; i < n; i++) {
        mean += get_value(y, i, is_log) / (double)n;
    }
    double tt = 0.0;
    double ty = 0.0;
    for (size_t i = 0; i < n; i++) {
        double t = (double)i - middle;
        tt += t * t;
        ty += t * (get_value(y, i, is_log) - mean);
    }
    double value = ty / tt;
    double squares = 0.0;
    double products = 0.0;
    double before = 0.0;
    for (size_t i = 0; i < n; i++) {
        double r = get_value(y, i, is_log) - mean - value * ((double)i - middle);
        squares += r * r;
        products += i > 0 ? r * before : 0.0;
        before = r;
    }
    double correlation = squares > 0.0 ? products / squares : 0.0;
    correlation = fmin(fmax(correlation, 0.0), CORRELATION_MOST);
    double widen = sqrt((1.0 + correlation) / (1.0 - correlation));
    return (struct slope){value, widen * sqrt(squares / ((double)n - 2.0) / tt)};
}

enum sh_status sh_envelope_find_decay(const struct sh_envelope_span *span,
                                      struct sh_envelope_decay *out)
{
    if (!(span->rate_hz > 0.0) || !isfinite(span->rate_hz)) {
        return SH_ERR_ARGUMENT;
    }
    if (span->n_span < SPAN_LEAST) {
        return SH_ERR_SHORT;
    }
    const double *amplitude = span->amplitude + span->first;
    const double *phase = span->phase_rad + span->first;
    if (!sh_finite_is_all(amplitude, span->n_span) || !sh_finite_is_all(phase, span->n_span)) {
        return SH_ERR_NOT_FINITE;
    }
    for (size_t i = 0; i < span->n_span; i++) {
        if (!(amplitude[i] > 0.0)) {
            return SH_ERR_SINGULAR;
        }
    }
    struct slope loss = fit_slope(amplitude, span->n_span, true);
    struct slope turn = fit_slope(phase, span->n_span, false);
    if (!(turn.value > 0.0)) {
        return SH_ERR_SINGULAR;
    }
    double delta = -2.0 * SH_PI * loss.value / turn.value;
    double delta_u = 2.0 * SH_PI / turn.value * hypot(loss.u, loss.value / turn.value * turn.u);
    double size2 = 4.0 * SH_PI * SH_PI + delta * delta;
    double damping_u = delta_u * 4.0 * SH_PI * SH_PI / (size2 * sqrt(size2));
    double to_hz = span->rate_hz / (2.0 * SH_PI);
    *out = (struct sh_envelope_decay){
        .log_decrement = sh_quantity_known(delta, delta_u),
        .damping = sh_quantity_known(delta / sqrt(size2), damping_u),
        .frequency_hz = sh_quantity_known(turn.value * to_hz, turn.u * to_hz)};
    return SH_OK;
}
