/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shot/high_pass.h"

#include <math.h>

#include "signal/biquad.h"

enum sh_status sh_high_pass_filter(const struct sh_high_pass *pass, size_t i, double *y)
{
    const double rate_hz = pass->stream->stream->rate_hz;
    const struct sh_biquad_config high = {
        .kind = SH_BIQUAD_HIGHPASS,
        .order = 2,
        .rate_hz = rate_hz,
        .corner_hz = fmin(pass->corner_hz, rate_hz / SH_HIGH_PASS_CORNER_RATIO)};
    struct sh_biquad_design design;
    struct sh_biquad filter;
    enum sh_status status = sh_biquad_make(&high, &design, NULL);
    if (status != SH_OK || pass->n == 0) {
        return status;
    }
    const double *value = pass->stream->value[pass->channel[i]];
    const size_t settle = (size_t)(SH_HIGH_PASS_SETTLE_S * rate_hz);
    const size_t begin = pass->first > settle ? pass->first - settle : 0;
    sh_biquad_init(&filter, &design);
    sh_biquad_settle(&filter, value[begin]);
    for (size_t k = begin; k < pass->first && status == SH_OK; k++) {
        double out = 0.0;
        status = sh_biquad_push(&filter, &value[k], 1, &out);
    }
    if (status == SH_OK) {
        status = sh_biquad_push(&filter, value + pass->first, pass->n, y);
    }
    return status;
}

enum sh_status sh_high_pass_add(const struct sh_high_pass *pass, double *scratch, double *sum)
{
    for (size_t k = 0; k < pass->n; k++) {
        sum[k] = 0.0;
    }
    for (size_t i = 0; i < pass->n_channels; i++) {
        const enum sh_status status = sh_high_pass_filter(pass, i, scratch);
        if (status != SH_OK) {
            return status;
        }
        for (size_t k = 0; k < pass->n; k++) {
            sum[k] += scratch[k] * scratch[k];
        }
    }
    return SH_OK;
}

bool sh_high_pass_is_lost(const struct sh_high_pass *pass)
{
    for (size_t k = 0; k < pass->n; k++) {
        if ((pass->stream->flags[pass->first + k] & SH_SHOT_FLAG_FILLED) != 0) {
            return true;
        }
    }
    return false;
}

static const struct sh_channel *get_channel(const struct sh_high_pass *pass)
{
    return &pass->stream->stream->channel[pass->channel[0]];
}

size_t sh_high_pass_get_frame(const struct sh_high_pass *pass, double time_s)
{
    if (pass->stream->n_frames == 0) {
        return 0;
    }
    const double index =
        ceil(sh_shot_stream_index(pass->stream, get_channel(pass)->delay_s, time_s));
    return (size_t)fmin(fmax(index, 0.0), (double)pass->stream->n_frames);
}

struct sh_quantity
sh_high_pass_get_time_s(const struct sh_high_pass *pass, double index, double u)
{
    const struct sh_channel *channel = get_channel(pass);
    const double frame = (double)pass->first + index;
    const double other_s = hypot(channel->delay_u_s, pass->stream->time_u_s);
    return sh_quantity_known(sh_shot_stream_time(pass->stream, channel->delay_s, frame),
                             hypot(u / pass->stream->stream->rate_hz, other_s));
}
