/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shot/event_time.h"

#include <math.h>

#define NORMAL_95 1.959963984540054

/* Has a frame between two of the force this flag? */
static bool
has_flag(const struct sh_shot_view *view, double first, double last, unsigned char flag)
{
    const struct sh_shot_stream *stream = &view->stream[view->force.stream];
    const double limit = (double)stream->n_frames - 1.0;
    const double from = fmax(0.0, ceil(first));
    const double until = fmin(limit, floor(last));
    if (until < from) {
        return false;
    }
    for (size_t i = (size_t)from; i <= (size_t)until; i++) {
        if ((stream->flags[i] & flag) != 0) {
            return true;
        }
    }
    return false;
}

bool sh_event_time_is_lost(const struct sh_shot_view *view, double first, double last)
{
    return has_flag(view, first, last, SH_SHOT_FLAG_FILLED);
}

bool sh_event_time_is_clipped(const struct sh_shot_view *view, double first, double last)
{
    return has_flag(view, first, last, SH_SHOT_FLAG_FULL);
}

struct sh_quantity sh_event_time_map(const struct sh_shot_view *view,
                                     const struct sh_quantity *frame)
{
    if (!sh_quantity_is_known(frame)) {
        return *frame;
    }
    const struct sh_shot_force *force = &view->force;
    const struct sh_shot_stream *stream = &view->stream[force->stream];
    const double other_s = hypot(force->delay_u_s, force->time_u_s);
    const double time_s = sh_shot_stream_time(stream, force->delay_s, frame->value);
    struct sh_quantity out =
        sh_quantity_known(time_s, hypot(frame->u / force->rate_hz, other_s));
    if (frame->has_interval) {
        out.has_interval = true;
        const double below_s = (frame->value - frame->lo) / force->rate_hz;
        const double above_s = (frame->hi - frame->value) / force->rate_hz;
        out.lo = time_s - hypot(below_s, NORMAL_95 * other_s);
        out.hi = time_s + hypot(above_s, NORMAL_95 * other_s);
    }
    return out;
}

struct sh_quantity sh_event_time_get(const struct sh_shot_view *view,
                                     const struct sh_quantity *frame)
{
    if (!sh_quantity_is_known(frame)) {
        return *frame;
    }
    const double reach = SH_EVENT_TIME_GAP_S * view->force.rate_hz;
    if (sh_event_time_is_lost(view, frame->value - reach, frame->value + reach)) {
        return sh_quantity_unknown(SH_WHY_GAP);
    }
    if (sh_event_time_is_clipped(view, frame->value - reach, frame->value + reach)) {
        return sh_quantity_unknown(SH_WHY_CLIPPED);
    }
    return sh_event_time_map(view, frame);
}
