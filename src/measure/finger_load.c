/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "measure/finger_load.h"

#include <math.h>

#include "signal/moving.h"
#include "signal/stats.h"

#define PEAK_WINDOW_S 0.02
#define HOLD_END_S    0.05
#define RATE_LOW      0.2
#define RATE_HIGH     0.8
#define HOLD_MIN_N    1.0

static double get_net(const struct sh_finger_channel *finger, size_t frame)
{
    return finger->value[frame] - finger->rest_n;
}

/* Net force at a time between two samples. */
static double
get_net_at(const struct sh_scene *scene, const struct sh_finger_channel *finger, double t_s)
{
    const struct sh_shot_stream *stream = &scene->view->stream[finger->stream];
    const double index = sh_shot_stream_index(stream, finger->channel->delay_s, t_s);
    const double last = (double)stream->n_frames - 1.0;
    const double inside = fmin(fmax(index, 0.0), last);
    const size_t below = (size_t)fmin(floor(inside), fmax(last - 1.0, 0.0));
    const double share = inside - (double)below;
    const double next = below + 1u < stream->n_frames ? get_net(finger, below + 1u) : 0.0;
    return (1.0 - share) * get_net(finger, below) + share * next;
}

/* Trapezoids over the samples of the span and the two pieces to the times themselves. */
static double integrate(const struct sh_scene *scene,
                        const struct sh_finger_channel *finger,
                        const struct sh_span *span,
                        const double at_s[2])
{
    const double *time_s = scene->view->stream[finger->stream].time_s;
    const double delay_s = finger->channel->delay_s;
    const size_t last = span->first + span->n - 1u;
    double before_n = get_net_at(scene, finger, at_s[0]);
    double before_s = at_s[0];
    double sum = 0.0;
    for (size_t i = span->first; i <= last; i++) {
        const double here_n = get_net(finger, i);
        const double here_s = time_s[i] - delay_s;
        sum += 0.5 * (before_n + here_n) * (here_s - before_s);
        before_n = here_n;
        before_s = here_s;
    }
    return sum + 0.5 * (before_n + get_net_at(scene, finger, at_s[1])) * (at_s[1] - before_s);
}

static struct sh_quantity measure_impulse(const struct sh_scene *scene,
                                          const struct sh_finger_channel *finger,
                                          const struct sh_quantity at[2])
{
    const double at_s[2] = {at[0].value, at[1].value};
    const struct sh_span span = sh_finger_net_span(scene, finger, at_s[0], at_s[1]);
    if (!sh_span_is_usable(&span)) {
        return sh_quantity_unknown(span.why);
    }
    const double length_s = at_s[1] - at_s[0];
    const double n = (double)span.n;
    const double value = integrate(scene, finger, &span, at_s);
    const double mean_n = value / length_s;
    struct sh_quantity impulse =
        sh_quantity_known(value, length_s * sh_finger_net_u(finger, mean_n, n));
    for (size_t k = 0; k < 2; k++) {
        sh_scene_add_u(&impulse, get_net_at(scene, finger, at_s[k]) * at[k].u);
    }
    return impulse;
}

/* 20 ms means of a span into scratch[1], their number; 0 and *why where there are none. */
static size_t make_means(const struct sh_scene *scene,
                         const struct sh_finger_channel *finger,
                         const struct sh_span *span,
                         enum sh_why *why)
{
    const double rate_hz = scene->view->stream[finger->stream].stream->rate_hz;
    const size_t n_window = sh_moving_window(PEAK_WINDOW_S, rate_hz);
    double *const *scratch = scene->workspace->scratch;
    *why = span->why;
    if (!sh_span_is_usable(span)) {
        return 0;
    }
    *why = PEAK_WINDOW_S * rate_hz < 0.5 ? SH_WHY_TOO_SLOW : SH_WHY_TOO_SHORT;
    if (*why == SH_WHY_TOO_SLOW || span->n < n_window) {
        return 0;
    }
    sh_finger_net_copy(finger, span, scratch[0]);
    if (sh_moving_mean(scratch[0], span->n, n_window, scratch[1]) != SH_OK) {
        *why = SH_WHY_UNRESOLVED;
        return 0;
    }
    *why = SH_WHY_KNOWN;
    return span->n - n_window + 1u;
}

static double get_window_frames(const struct sh_scene *scene,
                                const struct sh_finger_channel *finger)
{
    const double rate_hz = scene->view->stream[finger->stream].stream->rate_hz;
    return (double)sh_moving_window(PEAK_WINDOW_S, rate_hz);
}

static struct sh_quantity measure_peak(const struct sh_scene *scene,
                                       const struct sh_finger_channel *finger,
                                       const struct sh_quantity at[2])
{
    enum sh_why why = SH_WHY_KNOWN;
    const struct sh_span span = sh_finger_net_span(scene, finger, at[0].value, at[1].value);
    const size_t n = make_means(scene, finger, &span, &why);
    if (n == 0) {
        return sh_quantity_unknown(why);
    }
    const double *means = scene->workspace->scratch[1];
    double peak_n = means[0];
    for (size_t i = 1; i < n; i++) {
        peak_n = fmax(peak_n, means[i]);
    }
    const double frames = get_window_frames(scene, finger);
    return sh_quantity_known(peak_n, sh_finger_net_u(finger, peak_n, frames));
}

/* Place, with its fraction, at which means rise through a level between i - 1 and i. */
static double get_crossing(const double *means, size_t i, double level_n)
{
    return (double)i - 1.0 + (level_n - means[i - 1u]) / (means[i] - means[i - 1u]);
}

/* Slope between the two crossings in means[n], N a sample; the samples between in *apart. */
static enum sh_why find_rise(const double *means, size_t n, double hold_n, double *apart)
{
    const double low_n = RATE_LOW * hold_n;
    const double high_n = RATE_HIGH * hold_n;
    size_t high = 0;
    while (high < n && means[high] < high_n) {
        high++;
    }
    if (high == n) {
        return SH_WHY_NOT_SEEN;
    }
    size_t low = high;
    while (low > 0 && means[low] > low_n) {
        low--;
    }
    if (means[low] > low_n) {
        return SH_WHY_UNRESOLVED;
    }
    *apart = get_crossing(means, high, high_n) - get_crossing(means, low + 1u, low_n);
    return high - low > 1u ? SH_WHY_KNOWN : SH_WHY_TOO_SLOW;
}

static enum sh_why get_hold(const struct sh_scene *scene,
                            const struct sh_finger_channel *finger,
                            const struct sh_quantity at[2],
                            double *hold_n)
{
    const struct sh_span span =
        sh_finger_net_span(scene, finger, at[0].value, at[1].value - HOLD_END_S);
    if (!sh_span_is_usable(&span)) {
        return span.why;
    }
    sh_finger_net_copy(finger, &span, scene->workspace->scratch[0]);
    *hold_n = sh_stats_select_median(scene->workspace->scratch[0], span.n);
    return *hold_n >= HOLD_MIN_N ? SH_WHY_KNOWN : SH_WHY_NOT_SEEN;
}

/* at: draw start, full draw, release. */
static struct sh_quantity measure_rate(const struct sh_scene *scene,
                                       const struct sh_finger_channel *finger,
                                       const struct sh_quantity at[3])
{
    double hold_n = 0.0;
    enum sh_why why = get_hold(scene, finger, at + 1, &hold_n);
    if (why != SH_WHY_KNOWN) {
        return sh_quantity_unknown(why);
    }
    const struct sh_span span = sh_finger_net_span(scene, finger, at[0].value, at[2].value);
    const size_t n = make_means(scene, finger, &span, &why);
    if (n == 0) {
        return sh_quantity_unknown(why);
    }
    double apart = 0.0;
    why = find_rise(scene->workspace->scratch[1], n, hold_n, &apart);
    if (why != SH_WHY_KNOWN) {
        return sh_quantity_unknown(why);
    }
    const double rate_hz = scene->view->stream[finger->stream].stream->rate_hz;
    const double rise_s = apart / rate_hz;
    const double rate = (RATE_HIGH - RATE_LOW) * hold_n / rise_s;
    const double noise_n = finger->noise_n / sqrt(get_window_frames(scene, finger));
    struct sh_quantity figure = sh_quantity_known(rate, sqrt(2.0) * noise_n / rise_s);
    sh_scene_add_u(&figure, sh_scene_get_channel_u_ratio(finger->channel, hold_n) * rate);
    return figure;
}

/* The first reason among events; SH_WHY_KNOWN where all are known. */
static enum sh_why check_events(const struct sh_quantity *at, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        if (!sh_quantity_is_known(&at[i])) {
            return at[i].why;
        }
    }
    return SH_WHY_KNOWN;
}

void sh_finger_load_measure(const struct sh_scene *scene,
                            const struct sh_finger_net *net,
                            struct sh_measures *measures)
{
    const bool is_let_down = scene->shot->kind == SH_SHOT_LET_DOWN;
    const struct sh_quantity draw_start = sh_scene_event(scene, SH_EVENT_DRAW_START);
    const struct sh_quantity release = sh_scene_event(scene, SH_EVENT_RELEASE);
    const struct sh_quantity end = sh_scene_event(scene, SH_EVENT_END);
    const struct sh_quantity loaded[2] = {draw_start, is_let_down ? end : release};
    const struct sh_quantity drawn[2] = {draw_start, release};
    const struct sh_quantity held[3] = {draw_start, sh_scene_event(scene, SH_EVENT_FULL_DRAW),
                                        release};
    for (size_t k = 0; k < SH_FINGER_NET_COUNT; k++) {
        const struct sh_finger_channel *finger = &net->finger[k];
        enum sh_why why = check_events(loaded, 2);
        measures->quantity[SH_MEASURE_FINGER_IMPULSE_FIRST + k] =
            why == SH_WHY_KNOWN ? measure_impulse(scene, finger, loaded)
                                : sh_quantity_unknown(why);
        why = check_events(drawn, 2);
        measures->quantity[SH_MEASURE_FINGER_PEAK_FIRST + k] =
            why == SH_WHY_KNOWN ? measure_peak(scene, finger, drawn) : sh_quantity_unknown(why);
        why = check_events(held, 3);
        measures->quantity[SH_MEASURE_FINGER_LOAD_RATE_FIRST + k] =
            why == SH_WHY_KNOWN ? measure_rate(scene, finger, held) : sh_quantity_unknown(why);
    }
}
