/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shot/calm.h"

#include <math.h>
#include <stdbool.h>

#include "signal/moving.h"

#define COVER_95   1.96
#define STEP_TO_SD 0.886226925452758 /* of normal white noise: sqrt(pi) / 2 */

/*
 * An excursion ends between its last frame and the next one, half a step on. A slow sensor may
 * average over its step: then it ends within half a step of that frame; nobody has said, so
 * that either is as likely (JCGM 101:2008, 5.10: mean and SD of both rectangles).
 */
#define SHIFT      0.5
#define SHIFT_U    0.288675134594813 /* 1 / sqrt 12 */
#define SLOW_HZ    400.0             /* as in shot/release.h */
#define SLOW_SHIFT 0.25
#define SLOW_U     0.381881307912987 /* sqrt(1 / 12 + 1 / 16) */

/* One channel with what has to be taken off: a level, or the moving mean of its sums. */
struct trace {
    const double *value;
    const double *sums; /* NULL: level */
    double level;
    size_t n;
    size_t n_half; /* half the moving mean's window, frames */
};

static double get_off(const struct trace *trace, size_t i)
{
    if (trace->sums == NULL) {
        return fabs(trace->value[i] - trace->level);
    }
    const size_t first = i > trace->n_half ? i - trace->n_half : 0;
    const size_t last = i + trace->n_half < trace->n ? i + trace->n_half : trace->n - 1;
    const double mean =
        sh_moving_sums_mean(trace->sums, trace->value[0], first, last - first + 1);
    return fabs(trace->value[i] - mean);
}

/* White noise of the samples before end, from the mean size of their steps: one large step
 * hardly counts. */
static double find_noise(const struct trace *trace, size_t end)
{
    double sum = 0.0;
    for (size_t i = 1; i < end; i++) {
        sum += fabs(trace->value[i] - trace->value[i - 1]);
    }
    return end > 1 ? STEP_TO_SD * sum / (double)(end - 1) : 0.0;
}

static bool
make_trace(const struct sh_shot_stream *stream, size_t c, double *work, struct trace *trace)
{
    const enum sh_role role = stream->stream->channel[c].role;
    *trace = (struct trace){.value = stream->value[c], .n = stream->n_frames};
    if (role == SH_ROLE_STRING_FORCE || role == SH_ROLE_FINGER_FORCE) {
        trace->level = stream->rest_n[c].value;
        return sh_quantity_is_known(&stream->rest_n[c]);
    }
    trace->sums = work;
    trace->n_half = (size_t)(0.5 * SH_CALM_GRAVITY_S * stream->stream->rate_hz);
    return role == SH_ROLE_BOW_ACCELERATION &&
           sh_moving_sums(trace->value, trace->n, work) == SH_OK;
}

static size_t find_frame(const struct sh_shot_stream *stream, double delay_s, double time_s)
{
    const double index = ceil(sh_shot_stream_index(stream, delay_s, time_s));
    return (size_t)fmin(fmax(index, 0.0), (double)stream->n_frames);
}

/* The frame of the last excursion beyond a limit; from where there is none. */
static size_t find_last(const struct trace *trace, size_t from, size_t until, double limit)
{
    size_t i = until;
    while (i > from && !(get_off(trace, i - 1) > limit)) {
        i--;
    }
    return i > from ? i - 1 : from;
}

/* Frames of one channel: the draw begins, the release, the end of the search. */
struct bounds {
    size_t before;
    size_t from;
    size_t until;
};

static double find_peak(const struct sh_shot_stream *stream,
                        const struct trace *trace,
                        const struct bounds *bounds,
                        bool *is_clipped)
{
    double peak = 0.0;
    for (size_t i = bounds->before; i < bounds->until; i++) {
        peak = fmax(peak, get_off(trace, i));
        *is_clipped = *is_clipped || (stream->flags[i] & SH_SHOT_FLAG_CLIPPED) != 0;
    }
    return peak;
}

/* Of one channel, or of all: the last excursion and the earliest and latest that it may be. */
struct last {
    double time_s;
    double lo_s;
    double hi_s;
};

static double
get_time_s(const struct sh_shot_stream *stream, const struct sh_channel *channel, size_t i)
{
    const double shift = stream->stream->rate_hz < SLOW_HZ ? SLOW_SHIFT : SHIFT;
    return sh_shot_stream_time(stream, channel->delay_s, (double)i + shift);
}

/*
 * The last excursion of one channel; false where it makes none. Noise may have it end sooner or
 * later; a clipped peak was higher, so that it ended earlier, nobody knows by how much; and
 * what is fainter than noise lasts nobody knows how long.
 */
static bool find_in_channel(const struct sh_shot_stream *stream,
                            size_t c,
                            const struct sh_calm_span *span,
                            double *work,
                            struct last *out)
{
    struct trace trace;
    if (!make_trace(stream, c, work, &trace)) {
        return false;
    }
    const struct sh_channel *channel = &stream->stream->channel[c];
    const struct bounds bounds = {find_frame(stream, channel->delay_s, span->before_s),
                                  find_frame(stream, channel->delay_s, span->from_s),
                                  find_frame(stream, channel->delay_s, span->until_s)};
    bool is_clipped = false;
    const double wanted = SH_CALM_RATIO * find_peak(stream, &trace, &bounds, &is_clipped);
    const double noise = find_noise(&trace, bounds.before);
    const double limit = fmax(wanted, SH_CALM_NOISE * noise);
    const double rest_u = trace.sums == NULL ? stream->rest_n[c].u : 0.0;
    const double reach = COVER_95 * hypot(noise, rest_u);
    const size_t last = find_last(&trace, bounds.from, bounds.until, limit);
    const size_t sooner = find_last(&trace, bounds.from, bounds.until, limit + reach);
    const size_t later =
        find_last(&trace, bounds.from, bounds.until, fmax(limit - reach, 0.5 * limit));
    const bool is_shown = last > bounds.from || get_off(&trace, bounds.from) > limit;
    const double rate_hz = stream->stream->rate_hz;
    const double half_s = COVER_95 * hypot((rate_hz < SLOW_HZ ? SLOW_U : SHIFT_U) / rate_hz,
                                           hypot(channel->delay_u_s, stream->time_u_s));
    out->time_s = is_shown ? get_time_s(stream, channel, last) : span->from_s;
    out->lo_s = is_clipped ? span->from_s : get_time_s(stream, channel, sooner) - half_s;
    out->hi_s = get_time_s(stream, channel, later) + half_s;
    if (wanted < limit) {
        out->hi_s = span->until_s;
    }
    return is_shown || wanted < limit;
}

static void find_in_stream(const struct sh_shot_stream *stream,
                           const struct sh_calm_span *span,
                           double *work,
                           struct last *last,
                           bool *has_channel)
{
    for (size_t c = 0; c < stream->stream->n_channels && stream->n_frames > 0; c++) {
        const enum sh_role role = stream->stream->channel[c].role;
        struct last one;
        if (role == SH_ROLE_CLICKER_CONTACT || role == SH_ROLE_SOUND) {
            continue;
        }
        *has_channel = true;
        if (find_in_channel(stream, c, span, work, &one)) {
            last->time_s = fmax(last->time_s, one.time_s);
            last->lo_s = fmax(last->lo_s, one.lo_s);
            last->hi_s = fmax(last->hi_s, one.hi_s);
        }
    }
}

struct sh_quantity sh_calm_find(const struct sh_shot_view *view,
                                const struct sh_calm_span *span,
                                double *work,
                                size_t n_work)
{
    struct last last = {span->from_s, span->from_s, span->from_s};
    bool has_channel = false;
    for (size_t s = 0; s < view->n_streams; s++) {
        if (view->stream[s].n_frames < n_work) {
            find_in_stream(&view->stream[s], span, work, &last, &has_channel);
        }
    }
    if (!has_channel) {
        return sh_quantity_unknown(SH_WHY_NO_CHANNEL);
    }
    struct sh_quantity end_s =
        sh_quantity_known(last.time_s, (last.hi_s - last.lo_s) / (2.0 * COVER_95));
    end_s.lo = fmin(last.lo_s, last.time_s);
    end_s.hi = fmax(last.hi_s, last.time_s);
    end_s.has_interval = true;
    return end_s;
}
