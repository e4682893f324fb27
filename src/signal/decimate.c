/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/decimate.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#include "base/units.h"
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

enum sh_status
sh_decimate_open(double in_hz, double out_hz, struct sh_decimate **out, struct sh_error *err)
{
    bool is_rate = isfinite(in_hz) && isfinite(out_hz) && in_hz > 0.0 && out_hz > 0.0;
    if (!is_rate || in_hz > RATIO_MAX * out_hz) {
        return sh_error_set(err, SH_ERR_ARGUMENT, "resampling",
                            "give rates above 0, at most 10000 apart", "from %g to %g Hz",
                            in_hz, out_hz);
    }
    struct sh_decimate *decimate = malloc(sizeof(*decimate));
    if (decimate == NULL) {
        return sh_error_set(err, SH_ERR_MEMORY, "resampling", NULL, "no memory for its table");
    }
    decimate->in_hz = in_hz;
    decimate->out_hz = out_hz;
    decimate->is_copy = in_hz <= out_hz;
    fill_kernel(decimate->kernel);
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

static double get_kernel(const double *kernel, double distance)
{
    double place = distance * STEPS_PER_SAMPLE;
    size_t i = (size_t)place;
    if (i + 1 >= TABLE_POINTS) {
        return 0.0;
    }
    return kernel[i] + (place - (double)i) * (kernel[i + 1] - kernel[i]);
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

enum sh_status
sh_decimate_run(const struct sh_decimate *decimate, const double *x, size_t n, double *y)
{
    if (n == 0) {
        return SH_ERR_SHORT;
    }
    if (!sh_finite_is_all(x, n)) {
        return SH_ERR_NOT_FINITE;
    }
    if (decimate->is_copy) {
        memcpy(y, x, n * sizeof(*x));
        return SH_OK;
    }
    size_t n_out = sh_decimate_get_count(decimate, n);
    double ratio = decimate->in_hz / decimate->out_hz;
    for (size_t j = 0; j < n_out; j++) {
        double centre = (double)j * ratio;
        ptrdiff_t first = (ptrdiff_t)ceil(centre - SH_DECIMATE_REACH * ratio);
        ptrdiff_t last = (ptrdiff_t)floor(centre + SH_DECIMATE_REACH * ratio);
        double sum = 0.0;
        double weights = 0.0;
        for (ptrdiff_t i = first; i <= last; i++) {
            double weight = get_kernel(decimate->kernel, fabs((double)i - centre) / ratio);
            sum += weight * get_sample(x, n, i);
            weights += weight;
        }
        y[j] = sum / weights;
    }
    return SH_OK;
}
