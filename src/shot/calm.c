/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shot/calm.h"

#include <math.h>
#include <stdbool.h>

#include "signal/moving.h"

#define STEP_TO_SD 0.886226925452758 /* of normal white noise: sqrt(pi) / 2 */

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

/* The last excursion of one channel; false where it makes none. */
static bool find_last(const struct sh_shot_stream *stream,
                      size_t c,
                      const struct sh_calm_span *span,
                      double *work,
                      struct sh_quantity *out)
{
    struct trace trace;
    if (!make_trace(stream, c, work, &trace)) {
        return false;
    }
    const struct sh_channel *channel = &stream->stream->channel[c];
    const size_t before = find_frame(stream, channel->delay_s, span->before_s);
    const size_t from = find_frame(stream, channel->delay_s, span->from_s);
    const size_t until = find_frame(stream, channel->delay_s, span->until_s);
    double peak = 0.0;
    for (size_t i = before; i < until; i++) {
        peak = fmax(peak, get_off(&trace, i));
    }
    const double limit = fmax(SH_CALM_RATIO * peak, SH_CALM_NOISE * find_noise(&trace, before));
    size_t i = until;
    while (i > from && !(get_off(&trace, i - 1) > limit)) {
        i--;
    }
    if (i <= from) {
        return false;
    }
    const double time_s = sh_shot_stream_time(stream, channel->delay_s, (double)(i - 1));
    const double step_s = 1.0 / stream->stream->rate_hz;
    *out = sh_quantity_known(
        time_s, hypot(step_s / sqrt(12.0), hypot(channel->delay_u_s, stream->time_u_s)));
    return true;
}

/* The later of *end_s and the last excursion of any channel of a stream. */
static void find_in_stream(const struct sh_shot_stream *stream,
                           const struct sh_calm_span *span,
                           double *work,
                           struct sh_quantity *end_s)
{
    for (size_t c = 0; c < stream->stream->n_channels && stream->n_frames > 0; c++) {
        const enum sh_role role = stream->stream->channel[c].role;
        if (role == SH_ROLE_CLICKER_CONTACT || role == SH_ROLE_SOUND) {
            continue;
        }
        if (!sh_quantity_is_known(end_s)) {
            *end_s = sh_quantity_known(span->from_s, 0.0);
        }
        struct sh_quantity last = sh_quantity_unknown(SH_WHY_NOT_SEEN);
        if (find_last(stream, c, span, work, &last) && last.value > end_s->value) {
            *end_s = last;
        }
    }
}

struct sh_quantity sh_calm_find(const struct sh_shot_view *view,
                                const struct sh_calm_span *span,
                                double *work,
                                size_t n_work)
{
    struct sh_quantity end_s = sh_quantity_unknown(SH_WHY_NO_CHANNEL);
    for (size_t s = 0; s < view->n_streams; s++) {
        if (view->stream[s].n_frames < n_work) {
            find_in_stream(&view->stream[s], span, work, &end_s);
        }
    }
    return end_s;
}
