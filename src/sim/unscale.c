/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sim/unscale.h"

#include <math.h>

/* Inverts scale * c + quadratic * c^2 = value without cancellation. */
static double solve_quadratic(double scale, double quadratic, double value)
{
    const double square = scale * scale + 4.0 * quadratic * value;
    if (square <= 0.0) {
        return -0.5 * scale / quadratic;
    }
    return 2.0 * value / (scale + copysign(sqrt(square), scale));
}

static double search_curve(const struct sh_channel *channel, double value)
{
    const struct sh_curve_point *point = channel->curve;
    const double sign = point[channel->n_curve - 1].value > point[0].value ? 1.0 : -1.0;
    size_t i = 0;
    while (i + 2 < channel->n_curve && sign * point[i + 1].value < sign * value) {
        i++;
    }
    return point[i].counts + (value - point[i].value) *
                                 (point[i + 1].counts - point[i].counts) /
                                 (point[i + 1].value - point[i].value);
}

double sh_unscale_value(const struct sh_channel *channel, double value)
{
    if (channel->is_physical) {
        return value;
    }
    if (channel->n_curve >= 2) {
        return search_curve(channel, value);
    }
    return channel->zero + solve_quadratic(channel->scale, channel->quadratic, value);
}
