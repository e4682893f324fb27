/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/biquad.h"

#include <complex.h>
#include <math.h>
#include <string.h>

#include "base/units.h"
#include "signal/finite.h"

#define FADE_NEPERS 6.9 /* ln 1000 */

static enum sh_status check_config(const struct sh_biquad_config *c, struct sh_error *err)
{
    if (c->order < 1 || c->order > SH_BIQUAD_ORDER_MAX) {
        return sh_error_set(err, SH_ERR_ARGUMENT, "filter order", "give 1 to 16", "order %zu",
                            c->order);
    }
    if (!(c->rate_hz > 0.0) || !isfinite(c->rate_hz)) {
        return sh_error_set(err, SH_ERR_ARGUMENT, "filter rate", "give the rate in Hz, above 0",
                            "rate %g Hz", c->rate_hz);
    }
    if (!(c->corner_hz > 0.0 && c->corner_hz < 0.5 * c->rate_hz)) {
        return sh_error_set(err, SH_ERR_ARGUMENT, "filter corner",
                            "give it above 0 and below half the rate", "corner %g Hz",
                            c->corner_hz);
    }
    if (c->kind == SH_BIQUAD_BANDPASS &&
        !(c->corner_high_hz > c->corner_hz && c->corner_high_hz < 0.5 * c->rate_hz)) {
        return sh_error_set(err, SH_ERR_ARGUMENT, "filter's upper corner",
                            "give it above the lower and below half the rate", "corner %g Hz",
                            c->corner_high_hz);
    }
    return SH_OK;
}

/* Butterworth pole number i of n on the unit circle, left half, upper half first. */
static double complex get_prototype_pole(size_t i, size_t n)
{
    double angle = SH_PI * (0.5 + (2.0 * (double)i + 1.0) / (2.0 * (double)n));
    if (2 * i + 1 == n) {
        return -1.0;
    }
    return cos(angle) + (double complex)I * sin(angle);
}

/*
 * Section of the analog (n2 s^2 + n1 s + n0) / (s^2 - sum s + product) under
 * s = (1 - 1/z) / (1 + 1/z).
 */
static struct sh_biquad_section
map_section(double n2, double n1, double n0, double sum, double product)
{
    double d = 1.0 - sum + product;
    return (struct sh_biquad_section){.b0 = (n2 + n1 + n0) / d,
                                      .b1 = 2.0 * (n0 - n2) / d,
                                      .b2 = (n2 - n1 + n0) / d,
                                      .a1 = 2.0 * (product - 1.0) / d,
                                      .a2 = (1.0 + sum + product) / d};
}

/* The first-order analog (n1 s + n0) / (s - pole), as a section with b2 = a2 = 0. */
static struct sh_biquad_section map_first_order(double n1, double n0, double pole)
{
    double d = 1.0 - pole;
    return (struct sh_biquad_section){
        .b0 = (n1 + n0) / d, .b1 = (n0 - n1) / d, .a1 = -(1.0 + pole) / d};
}

/* Low-pass (w^2 above) or high-pass (s^2 above), real pole first, sharpest pair last. */
static void
make_one_edge(const struct sh_biquad_config *c, double w, struct sh_biquad_design *out)
{
    bool is_low = c->kind == SH_BIQUAD_LOWPASS;
    size_t n_pairs = c->order / 2;
    out->n_sections = 0;
    if (c->order % 2 == 1) {
        out->section[out->n_sections++] =
            is_low ? map_first_order(0.0, w, -w) : map_first_order(1.0, 0.0, -w);
    }
    for (size_t i = n_pairs; i-- > 0;) {
        double sum = 2.0 * w * creal(get_prototype_pole(i, c->order));
        out->section[out->n_sections++] = is_low ? map_section(0.0, 0.0, w * w, sum, w * w)
                                                 : map_section(1.0, 0.0, 0.0, sum, w * w);
    }
}

static void make_band(const struct sh_biquad_config *c,
                      double low,
                      double high,
                      struct sh_biquad_design *out)
{
    double width = high - low;
    double centre2 = low * high;
    out->n_sections = 0;
    if (c->order % 2 == 1) {
        out->section[out->n_sections++] = map_section(0.0, width, 0.0, -width, centre2);
    }
    for (size_t i = c->order / 2; i-- > 0;) {
        double complex half = 0.5 * width * get_prototype_pole(i, c->order);
        double complex root = csqrt(half * half - centre2);
        /* the root of larger size first; the other from the product, without cancellation */
        double complex a = cabs(half + root) > cabs(half - root) ? half + root : half - root;
        double complex b = centre2 / a;
        double complex poles[2] = {a, b};
        for (size_t j = 0; j < 2; j++) {
            double size2 =
                creal(poles[j]) * creal(poles[j]) + cimag(poles[j]) * cimag(poles[j]);
            out->section[out->n_sections++] =
                map_section(0.0, width, 0.0, 2.0 * creal(poles[j]), size2);
        }
    }
}

/* Leaves the plain zeros in all sections but the first, which takes the whole gain. */
static void gather_gain(struct sh_biquad_design *design)
{
    double gain = 1.0;
    for (size_t i = 0; i < design->n_sections; i++) {
        struct sh_biquad_section *s = &design->section[i];
        double g = s->b0;
        gain *= g;
        s->b0 = 1.0;
        s->b1 /= g;
        s->b2 /= g;
    }
    design->section[0].b0 *= gain;
    design->section[0].b1 *= gain;
    design->section[0].b2 *= gain;
}

enum sh_status sh_biquad_make(const struct sh_biquad_config *config,
                              struct sh_biquad_design *out,
                              struct sh_error *err)
{
    enum sh_status status = check_config(config, err);
    if (status != SH_OK) {
        return status;
    }
    double factor = 1.0;
    if (config->for_two_passes) {
        factor = pow(sqrt(2.0) - 1.0, 0.5 / (double)config->order);
    }
    double w = tan(SH_PI * config->corner_hz / config->rate_hz);
    struct sh_biquad_design design;
    memset(&design, 0, sizeof(design));
    switch (config->kind) {
    case SH_BIQUAD_LOWPASS:
        make_one_edge(config, w / factor, &design);
        break;
    case SH_BIQUAD_HIGHPASS:
        make_one_edge(config, w * factor, &design);
        break;
    case SH_BIQUAD_BANDPASS: {
        double high = tan(SH_PI * config->corner_high_hz / config->rate_hz);
        double half = 0.5 * (high - w) / factor;
        double low = sqrt(half * half + w * high) - half; /* keeps the geometric mean */
        make_band(config, low, low + 2.0 * half, &design);
        break;
    }
    default:
        return sh_error_set(err, SH_ERR_ARGUMENT, "filter kind", NULL, "unknown kind %d",
                            (int)config->kind);
    }
    gather_gain(&design);
    *out = design;
    return SH_OK;
}

double sh_biquad_get_gain(const struct sh_biquad_design *design, double f_hz, double rate_hz)
{
    double complex back = cexp(-2.0 * (double complex)I * SH_PI * f_hz / rate_hz);
    double gain = 1.0;
    for (size_t i = 0; i < design->n_sections; i++) {
        const struct sh_biquad_section *s = &design->section[i];
        gain *= cabs((s->b0 + back * (s->b1 + back * s->b2)) /
                     (1.0 + back * (s->a1 + back * s->a2)));
    }
    return gain;
}

void sh_biquad_init(struct sh_biquad *filter, const struct sh_biquad_design *design)
{
    filter->design = *design;
    sh_biquad_reset(filter);
}

void sh_biquad_reset(struct sh_biquad *filter)
{
    memset(filter->state, 0, sizeof(filter->state));
}

void sh_biquad_settle(struct sh_biquad *filter, double x0)
{
    double x = x0;
    for (size_t i = 0; i < filter->design.n_sections; i++) {
        const struct sh_biquad_section *s = &filter->design.section[i];
        double y = x * (s->b0 + s->b1 + s->b2) / (1.0 + s->a1 + s->a2);
        filter->state[i][1] = s->b2 * x - s->a2 * y;
        filter->state[i][0] = s->b1 * x - s->a1 * y + filter->state[i][1];
        x = y;
    }
}

static double step(struct sh_biquad *filter, double x)
{
    for (size_t i = 0; i < filter->design.n_sections; i++) {
        const struct sh_biquad_section *s = &filter->design.section[i];
        double *state = filter->state[i];
        double y = s->b0 * x + state[0];
        state[0] = s->b1 * x - s->a1 * y + state[1];
        state[1] = s->b2 * x - s->a2 * y;
        x = y;
    }
    return x;
}

enum sh_status sh_biquad_push(struct sh_biquad *filter, const double *x, size_t n, double *y)
{
    if (!sh_finite_is_all(x, n)) {
        return SH_ERR_NOT_FINITE;
    }
    for (size_t i = 0; i < n; i++) {
        y[i] = step(filter, x[i]);
    }
    return SH_OK;
}

enum sh_status sh_biquad_filter_both_ways(const struct sh_biquad_design *design,
                                          const struct sh_biquad_span *span,
                                          double *work,
                                          double *y)
{
    const double *x = span->x;
    size_t n = span->n;
    size_t n_pad = span->n_pad;
    if (n == 0 || n <= n_pad) {
        return SH_ERR_SHORT;
    }
    if (!sh_finite_is_all(x, n)) {
        return SH_ERR_NOT_FINITE;
    }
    size_t n_all = n + 2 * n_pad;
    for (size_t i = 0; i < n_pad; i++) {
        work[i] = 2.0 * x[0] - x[n_pad - i];
        work[n_pad + n + i] = 2.0 * x[n - 1] - x[n - 2 - i];
    }
    memcpy(work + n_pad, x, n * sizeof(*x));
    struct sh_biquad filter;
    sh_biquad_init(&filter, design);
    sh_biquad_settle(&filter, work[0]);
    for (size_t i = 0; i < n_all; i++) {
        work[i] = step(&filter, work[i]);
    }
    sh_biquad_settle(&filter, work[n_all - 1]);
    for (size_t i = n_all; i-- > 0;) {
        work[i] = step(&filter, work[i]);
    }
    memcpy(y, work + n_pad, n * sizeof(*y));
    return SH_OK;
}

size_t sh_biquad_get_pad(const struct sh_biquad_design *design)
{
    double radius = 0.0;
    for (size_t i = 0; i < design->n_sections; i++) {
        const struct sh_biquad_section *s = &design->section[i];
        double square = 0.25 * s->a1 * s->a1 - s->a2;
        double size = square < 0.0 ? sqrt(s->a2) : 0.5 * fabs(s->a1) + sqrt(square);
        radius = fmax(radius, size);
    }
    if (radius <= 0.0) {
        return 1;
    }
    double n = ceil(-FADE_NEPERS / log(radius));
    return n < 1.0 ? 1 : (size_t)n;
}
