/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shot/force_scale.h"

#include <math.h>

#include "metrology/scale.h"

#define HALVINGS 60

/* The sample whose value is value_n, between the ends of the curve or range. */
static double find_raw(const struct sh_channel *channel, double value_n)
{
    if (channel->is_physical) {
        return value_n;
    }
    const bool has_curve = channel->n_curve >= 2;
    const bool has_square = fabs(channel->quadratic) > 0.0;
    if (!has_curve && (!has_square || !channel->has_range)) {
        return channel->zero + value_n / channel->scale;
    }
    double low = has_curve ? channel->curve[0].counts : channel->range_low;
    double high = has_curve ? channel->curve[channel->n_curve - 1].counts : channel->range_high;
    const bool is_rising = sh_scale_value(channel, high) > sh_scale_value(channel, low);
    for (int i = 0; i < HALVINGS; i++) {
        const double middle = 0.5 * (low + high);
        if ((sh_scale_value(channel, middle) < value_n) == is_rising) {
            low = middle;
        } else {
            high = middle;
        }
    }
    return 0.5 * (low + high);
}

double sh_force_scale_get_u_ratio(const struct sh_shot_view *view,
                                  const double *value_n,
                                  const double *rest_n)
{
    const struct sh_shot_force *force = &view->force;
    const struct sh_stream *stream = view->stream[force->stream].stream;
    double square_n2 = 0.0;
    double net_n = 0.0;
    for (size_t i = 0; i < force->n_channels; i++) {
        const struct sh_channel *channel = &stream->channel[force->channel[i]];
        const double u_n = sh_scale_difference_u(channel, find_raw(channel, value_n[i]),
                                                 find_raw(channel, rest_n[i]));
        square_n2 += u_n * u_n;
        net_n += value_n[i] - rest_n[i];
    }
    if (!(fabs(net_n) > 0.0) || !isfinite(square_n2)) {
        return 0.0;
    }
    const double scale_ratio = sqrt(square_n2) / fabs(net_n);
    if (!force->is_finger_sum) {
        return scale_ratio;
    }
    return hypot(scale_ratio,
                 hypot(SH_FORCE_SCALE_FINGERS_RATIO, SH_FORCE_SCALE_FINGERS_U_RATIO));
}

double sh_force_scale_get_resolution_n(const struct sh_channel *channel)
{
    if (channel->is_physical) {
        return 0.0;
    }
    return fabs(sh_scale_slope(channel, find_raw(channel, 0.0)));
}

bool sh_force_scale_is_full(const struct sh_channel *channel, double raw)
{
    const bool is_force =
        channel->role == SH_ROLE_STRING_FORCE || channel->role == SH_ROLE_FINGER_FORCE;
    if (!is_force || !sh_scale_is_clipped(channel, raw)) {
        return false;
    }
    const bool is_rising = sh_scale_value(channel, channel->range_high) >
                           sh_scale_value(channel, channel->range_low);
    return is_rising ? raw >= channel->range_high : raw <= channel->range_low;
}
