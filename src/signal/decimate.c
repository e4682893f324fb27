/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/decimate.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#include "base/units.h"
#include "signal/dot.h"
#include "signal/finite.h"

#define STEPS_PER_SAMPLE 1024  /* table points an output sample; straight between: 4e-7 */
#define KAISER_BETA      7.857 /* 80 dB */
#define RATIO_MAX        10000.0
#define TABLE_POINTS     12802u /* SH_DECIMATE_REACH * STEPS_PER_SAMPLE + 2 */

struct sh_decimate {
    double in_hz;
    double out_hz;
    bool is_copy;
    double kernel[TABLE_POINTS]; /* at distances 0, 1/1024, ... output samples */
    size_t reach;    /* input samples to either side where the ratio is whole, or 0 */
    double weight[]; /* [2 reach + 1], the same for every output sample; sum 1 */
};

/* Modified Bessel function of order 0 by its power series (all terms positive). */
static double get_bessel_i0(double x)
{
    double term = 1.0;
    double sum = 1.0;
    double quarter = 0.25 * x * x;
    for (size_t i = 1; term > 1e-17 * sum; i++) {
        term *= quarter / ((double)i * (double)i);
        sum += term;
    }
    return sum;
}

static void fill_kernel(double *kernel)
{
    double scale = 1.0 / get_bessel_i0(KAISER_BETA);
    for (size_t i = 0; i < TABLE_POINTS; i++) {
        double t = (double)i / STEPS_PER_SAMPLE;
        double inside = 1.0 - (t / SH_DECIMATE_REACH) * (t / SH_DECIMATE_REACH);
        double sinc = i == 0 ? 1.0 : sin(SH_PI * t) / (SH_PI * t);
        double window = inside < 0.0 ? 0.0 : get_bessel_i0(KAISER_BETA * sqrt(inside)) * scale;
        kernel[i] = sinc * window;
    }
}

static double get_kernel(const double *kernel, double distance)
{
    double place = distance * STEPS_PER_SAMPLE;
    size_t i = (size_t)place;
    if (i + 1 >= TABLE_POINTS) {
        return 0.0;
    }
    return kernel[i] + (place - (double)i) * (kernel[i + 1] - kernel[i]);
}

/* Output samples that fall on input samples all see the same weights. */
static void fill_weights(struct sh_decimate *decimate)
{
    double sum = 0.0;
    double ratio = decimate->in_hz / decimate->out_hz;
    size_t n = 2 * decimate->reach + 1;
    for (size_t i = 0; i < n; i++) {
        double distance = fabs((double)i - (double)decimate->reach) / ratio;
        decimate->weight[i] = get_kernel(decimate->kernel, distance);
        sum += decimate->weight[i];
    }
    for (size_t i = 0; i < n; i++) {
        decimate->weight[i] /= sum;
    }
}

enum sh_status
sh_decimate_open(double in_hz, double out_hz, struct sh_decimate **out, struct sh_error *err)
{
    bool is_rate = isfinite(in_hz) && isfinite(out_hz) && in_hz > 0.0 && out_hz > 0.0;
    if (!is_rate || in_hz > RATIO_MAX * out_hz) {
        return sh_error_set(err, SH_ERR_ARGUMENT, "resampling",
                            "give rates above 0, at most 10000 apart", "from %g to %g Hz",
                            in_hz, out_hz);
    }
    double ratio = in_hz / out_hz;
    bool is_whole = ratio > 1.0 && fabs(ratio - round(ratio)) <= 0.0;
    size_t reach = is_whole ? (size_t)floor(SH_DECIMATE_REACH * ratio) : 0;
    struct sh_decimate *decimate =
        malloc(sizeof(*decimate) + (2 * reach + 1) * sizeof(decimate->weight[0]));
    if (decimate == NULL) {
        return sh_error_set(err, SH_ERR_MEMORY, "resampling", NULL, "no memory for its table");
    }
    decimate->in_hz = in_hz;
    decimate->out_hz = out_hz;
    decimate->is_copy = in_hz <= out_hz;
    decimate->reach = reach;
    fill_kernel(decimate->kernel);
    fill_weights(decimate);
    *out = decimate;
    return SH_OK;
}

void sh_decimate_close(struct sh_decimate **decimate)
{
    if (decimate == NULL) {
        return;
    }
    free(*decimate);
    *decimate = NULL;
}

double sh_decimate_get_rate(const struct sh_decimate *decimate)
{
    return decimate->is_copy ? decimate->in_hz : decimate->out_hz;
}

size_t sh_decimate_get_count(const struct sh_decimate *decimate, size_t n)
{
    if (decimate->is_copy || n == 0) {
        return n;
    }
    double span = (double)(n - 1) * decimate->out_hz / decimate->in_hz;
    return (size_t)floor(span + 1e-9) + 1;
}

/* Sample i, which may lie outside 0 .. n - 1: odd reflection about the end sample. */
static double get_sample(const double *x, size_t n, ptrdiff_t i)
{
    ptrdiff_t last = (ptrdiff_t)n - 1;
    if (i < 0) {
        return 2.0 * x[0] - x[-i > last ? last : -i];
    }
    if (i > last) {
        ptrdiff_t mirror = 2 * last - i;
        return 2.0 * x[last] - x[mirror < 0 ? 0 : mirror];
    }
    return x[i];
}

/* Output sample at centre, counted in input samples. */
static double get_output(const struct sh_decimate *d, const double *x, size_t n, double centre)
{
    double ratio = d->in_hz / d->out_hz;
    ptrdiff_t first = (ptrdiff_t)ceil(centre - SH_DECIMATE_REACH * ratio);
    ptrdiff_t last = (ptrdiff_t)floor(centre + SH_DECIMATE_REACH * ratio);
    double sum = 0.0;
    double weights = 0.0;
    for (ptrdiff_t i = first; i <= last; i++) {
        double weight = get_kernel(d->kernel, fabs((double)i - centre) / ratio);
        sum += weight * get_sample(x, n, i);
        weights += weight;
    }
    return sum / weights;
}

enum sh_status
sh_decimate_run(const struct sh_decimate *decimate, const double *x, size_t n, double *y)
{
    const struct sh_decimate *d = decimate;
    if (n == 0) {
        return SH_ERR_SHORT;
    }
    if (!sh_finite_is_all(x, n)) {
        return SH_ERR_NOT_FINITE;
    }
    if (d->is_copy) {
        memcpy(y, x, n * sizeof(*x));
        return SH_OK;
    }
    size_t n_out = sh_decimate_get_count(d, n);
    for (size_t j = 0; j < n_out; j++) {
        double centre = (double)j * (d->in_hz / d->out_hz);
        size_t at = (size_t)centre;
        if (d->reach > 0 && at >= d->reach && at + d->reach < n) {
            y[j] = sh_dot_get(d->weight, x + at - d->reach, 2 * d->reach + 1);
        } else {
            y[j] = get_output(d, x, n, centre);
        }
    }
    return SH_OK;
}
