/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "measure/finger_net.h"

#include <math.h>

#include "signal/moving.h"
#include "signal/stats.h"

#define REST_SPAN_S    0.25
#define QUANTISATION_U 0.28867513459481287 /* 1 / sqrt 12: of one count */

/* Where the string was at rest before the draw. */
struct rest {
    double from_s;
    double left_n; /* mean net force there */
};

/* Means over REST_SPAN_S of all the net force before the draw start, into scratch[0]. */
static enum sh_why make_means(const struct sh_scene *scene, size_t *n_window, size_t *n_means)
{
    const struct sh_shot_force *force = &scene->view->force;
    const struct sh_quantity draw_start = sh_scene_event(scene, SH_EVENT_DRAW_START);
    if (!force->is_present) {
        return SH_WHY_NO_CHANNEL;
    }
    if (!sh_quantity_is_known(&draw_start)) {
        return draw_start.why;
    }
    const struct sh_shot_stream *stream = &scene->view->stream[force->stream];
    const double end = ceil(sh_shot_stream_index(stream, force->delay_s, draw_start.value));
    *n_window = sh_moving_window(REST_SPAN_S, force->rate_hz);
    if (!(end >= (double)*n_window)) {
        return SH_WHY_TOO_SHORT;
    }
    const size_t n = end < (double)force->n_frames ? (size_t)end : force->n_frames;
    if (n > scene->workspace->n_scratch ||
        sh_moving_mean(force->net_n, n, *n_window, scene->workspace->scratch[0]) != SH_OK) {
        return SH_WHY_UNRESOLVED;
    }
    *n_means = n - *n_window + 1u;
    return SH_WHY_KNOWN;
}

static enum sh_why find_rest(const struct sh_scene *scene, struct rest *rest)
{
    size_t n_window = 0;
    size_t n_means = 0;
    const struct sh_shot_force *force = &scene->view->force;
    enum sh_why why = make_means(scene, &n_window, &n_means);
    if (why != SH_WHY_KNOWN) {
        return why;
    }
    const struct sh_shot_stream *stream = &scene->view->stream[force->stream];
    const double *means = scene->workspace->scratch[0];
    size_t best = n_means;
    for (size_t i = 0; i < n_means; i++) {
        const bool is_nearer = best == n_means || fabs(means[i]) < fabs(means[best]);
        const enum sh_why here =
            is_nearer ? sh_span_check(stream->flags + i, n_window) : SH_WHY_KNOWN;
        best = is_nearer && here == SH_WHY_KNOWN ? i : best;
        why = here != SH_WHY_KNOWN ? here : why;
    }
    if (best == n_means) {
        return why;
    }
    rest->from_s = sh_shot_stream_time(stream, force->delay_s, (double)best);
    rest->left_n = means[best];
    return SH_WHY_KNOWN;
}

/* What one sample is uncertain by: the spread at rest, one count, the stated noise. */
static double get_noise(const struct sh_channel *channel, double spread_n)
{
    const double count_n = channel->is_physical ? 0.0 : fabs(channel->scale) * QUANTISATION_U;
    return fmax(spread_n, fmax(count_n, channel->noise));
}

static void set_finger(const struct sh_scene *scene,
                       const struct rest *rest,
                       struct sh_finger_channel *finger)
{
    const struct sh_span span =
        sh_finger_net_span(scene, finger, rest->from_s, rest->from_s + REST_SPAN_S);
    double spread_n = 0.0;
    finger->why = span.why;
    if (!sh_span_is_usable(&span)) {
        return;
    }
    double *const sd = span.n > 1 ? &spread_n : NULL;
    if (sh_stats_get_mean(finger->value + span.first, span.n, &finger->rest_n, sd) != SH_OK) {
        finger->why = SH_WHY_UNRESOLVED;
        return;
    }
    finger->noise_n = get_noise(finger->channel, spread_n);
    finger->rest_u_n = hypot(finger->noise_n / sqrt((double)span.n),
                             rest->left_n / (double)SH_FINGER_NET_COUNT);
}

/* Rms of the steps between neighbours in the hold over sqrt 2; 0 where it cannot be had. */
static double get_step_noise(const struct sh_scene *scene,
                             const struct sh_finger_channel *finger)
{
    const struct sh_quantity from = sh_scene_event(scene, SH_EVENT_FULL_DRAW);
    const bool is_let_down = scene->shot->kind == SH_SHOT_LET_DOWN;
    const struct sh_quantity until =
        sh_scene_event(scene, is_let_down ? SH_EVENT_LET_DOWN : SH_EVENT_RELEASE);
    if (!sh_quantity_is_known(&from) || !sh_quantity_is_known(&until)) {
        return 0.0;
    }
    const struct sh_span span = sh_finger_net_span(scene, finger, from.value, until.value);
    if (!sh_span_is_usable(&span) || span.n < 2) {
        return 0.0;
    }
    double squares = 0.0;
    for (size_t i = span.first + 1u; i < span.first + span.n; i++) {
        const double step_n = finger->value[i] - finger->value[i - 1u];
        squares += step_n * step_n;
    }
    return sqrt(0.5 * squares / (double)(span.n - 1u));
}

/* A load that rises evenly drifts as if it had come at once, half way. */
static void set_loaded(const struct sh_scene *scene, struct sh_finger_channel *finger)
{
    const struct sh_quantity start = sh_scene_event(scene, SH_EVENT_DRAW_START);
    const struct sh_quantity full = sh_scene_event(scene, SH_EVENT_FULL_DRAW);
    finger->loaded_noise_n = finger->noise_n;
    finger->loaded_s =
        sh_quantity_is_known(&full) ? 0.5 * (start.value + full.value) : start.value;
    if (finger->channel->n_curve >= 2) {
        finger->loaded_noise_n = fmax(finger->noise_n, get_step_noise(scene, finger));
    }
}

void sh_finger_net_find(const struct sh_scene *scene, struct sh_finger_net *out)
{
    static const enum sh_finger which[SH_FINGER_NET_COUNT] = {SH_FINGER_INDEX, SH_FINGER_MIDDLE,
                                                              SH_FINGER_RING};
    struct rest rest = {.from_s = 0.0};
    const enum sh_why why = find_rest(scene, &rest);
    for (size_t k = 0; k < SH_FINGER_NET_COUNT; k++) {
        struct sh_finger_channel *finger = &out->finger[k];
        size_t stream = 0;
        size_t channel = 0;
        *finger = (struct sh_finger_channel){.why = SH_WHY_NO_CHANNEL};
        if (!sh_shot_view_find(scene->view, SH_ROLE_FINGER_FORCE, SH_AXIS_NONE, which[k],
                               &stream, &channel)) {
            continue;
        }
        finger->stream = stream;
        finger->value = scene->view->stream[stream].value[channel];
        finger->channel = &scene->view->stream[stream].stream->channel[channel];
        finger->why = why;
        if (why == SH_WHY_KNOWN) {
            set_finger(scene, &rest, finger);
            set_loaded(scene, finger);
        }
    }
}

struct sh_span sh_finger_net_span(const struct sh_scene *scene,
                                  const struct sh_finger_channel *finger,
                                  double from_s,
                                  double until_s)
{
    if (finger->why != SH_WHY_KNOWN) {
        return (struct sh_span){.why = finger->why};
    }
    struct sh_span span = sh_span_find(&scene->view->stream[finger->stream],
                                       finger->channel->delay_s, from_s, until_s);
    if (sh_span_is_usable(&span) && span.n > scene->workspace->n_scratch) {
        span.why = SH_WHY_UNRESOLVED;
    }
    return span;
}

void sh_finger_net_copy(const struct sh_finger_channel *finger,
                        const struct sh_span *span,
                        double *net_n)
{
    for (size_t i = 0; i < span->n; i++) {
        net_n[i] = finger->value[span->first + i] - finger->rest_n;
    }
}

double sh_finger_net_u(const struct sh_finger_channel *finger, double net_n, double n)
{
    const double ratio = sh_scene_get_channel_u_ratio(finger->channel, net_n);
    const double noise_n = finger->loaded_noise_n / sqrt(fmax(n, 1.0));
    const double drift_ratio = SH_FINGER_NET_DRIFT_U * finger->channel->load_drift_ratio;
    return hypot(hypot(noise_n, finger->rest_u_n), hypot(ratio, drift_ratio) * net_n);
}

double sh_finger_net_drift_u_ratio(const struct sh_finger_channel *finger, double t_s)
{
    const struct sh_channel *channel = finger->channel;
    if (!(channel->load_drift_time_s > 0.0)) {
        return 0.0;
    }
    const double since_s = fmax(0.0, t_s - finger->loaded_s);
    return SH_FINGER_NET_DRIFT_U * channel->load_drift_ratio *
           -expm1(-since_s / channel->load_drift_time_s);
}
