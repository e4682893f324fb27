/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/ruler.h"

#include <math.h>
#include <stdio.h>

#define ROUNDING 1e-9 /* of a step: a range that ends on a tick ends there */

/* The smallest of 1, 2, 5 times a power of ten that is not below width. */
static double round_step(double width, int *n_decimals)
{
    double exponent = floor(log10(width));
    double power = pow(10.0, exponent);
    double ratio = width / power;
    double digit = 10.0;
    if (ratio <= 1.0 + ROUNDING) {
        digit = 1.0;
    } else if (ratio <= 2.0 + ROUNDING) {
        digit = 2.0;
    } else if (ratio <= 5.0 + ROUNDING) {
        digit = 5.0;
    } else {
        exponent += 1.0;
    }
    *n_decimals = exponent < 0.0 ? (int)-exponent : 0;
    return digit * power;
}

struct sh_ruler sh_ruler_fit(double lo, double hi, size_t n_ticks_max)
{
    struct sh_ruler axis = {0};
    if (!isfinite(lo) || !isfinite(hi)) {
        lo = hi = isfinite(lo) ? lo : isfinite(hi) ? hi : 0.0;
    }
    if (!(hi > lo)) {
        lo -= 1.0;
        hi = lo + 2.0;
    }
    double width = (hi - lo) / (double)(n_ticks_max - 1);
    double first = 0.0;
    double last = 0.0;
    /* rounding outward can need one tick more than there may be: then the next wider step */
    do {
        axis.step = round_step(width, &axis.n_decimals);
        first = floor(lo / axis.step + ROUNDING);
        last = ceil(hi / axis.step - ROUNDING);
        width = 1.5 * axis.step;
    } while (last - first + 1.0 > (double)n_ticks_max);
    axis.lo = first * axis.step;
    axis.hi = last * axis.step;
    axis.n_ticks = (size_t)(last - first) + 1;
    return axis;
}

double sh_ruler_get_share(const struct sh_ruler *axis, double value)
{
    return (value - axis->lo) / (axis->hi - axis->lo);
}

double sh_ruler_get_tick(const struct sh_ruler *axis, size_t i)
{
    return axis->lo + (double)i * axis->step;
}

void sh_ruler_format_tick(const struct sh_ruler *axis, size_t i, char text[SH_RULER_TICK_BYTES])
{
    double scale = pow(10.0, axis->n_decimals);
    double value = round(sh_ruler_get_tick(axis, i) * scale) / scale + 0.0; /* never "-0" */
    (void)snprintf(text, SH_RULER_TICK_BYTES, "%.*f", axis->n_decimals, value);
}
