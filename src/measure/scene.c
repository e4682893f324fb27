/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "measure/scene.h"

#include <math.h>

#include "signal/moving.h"
#include "signal/stats.h"

#define RATE_SLACK    1e-9 /* relative: the same number, read twice */
#define NORMAL_975    1.959963984540054
#define FALL_U_S      0.001 /* of a fall that begins 0.6 to 3 ms before the release */
#define MEDIAN_SPREAD 1.1283791670955126 /* 2 / sqrt pi */

bool sh_scene_is_for(const struct sh_workspace *workspace, const struct sh_shot_view *view)
{
    if (view->n_streams != workspace->config.n_streams) {
        return false;
    }
    for (size_t i = 0; i < view->n_streams; i++) {
        const double rate_hz = workspace->config.rate_hz[i];
        if (fabs(view->stream[i].stream->rate_hz - rate_hz) > RATE_SLACK * rate_hz) {
            return false;
        }
    }
    return true;
}

struct sh_quantity sh_scene_event(const struct sh_scene *scene, enum sh_event event)
{
    const struct sh_shot *shot = scene->shot;
    const bool is_of_a_shot = event == SH_EVENT_CLICKER || event == SH_EVENT_RELEASE;
    if (shot->kind == SH_SHOT_LET_DOWN && is_of_a_shot) {
        return sh_quantity_unknown(SH_WHY_NOT_APPLICABLE);
    }
    struct sh_quantity at = shot->event_s[event];
    if (at.why == SH_WHY_NOT_ASKED) {
        at.why = SH_WHY_NOT_SEEN;
    }
    return at;
}

struct sh_quantity sh_scene_click_or_release(const struct sh_scene *scene)
{
    const struct sh_quantity click = sh_scene_event(scene, SH_EVENT_CLICKER);
    return sh_quantity_is_known(&click) ? click : sh_scene_event(scene, SH_EVENT_RELEASE);
}

struct sh_quantity sh_scene_difference(const struct sh_quantity *later,
                                       const struct sh_quantity *earlier)
{
    if (!sh_quantity_is_known(earlier)) {
        return sh_quantity_unknown(earlier->why);
    }
    if (!sh_quantity_is_known(later)) {
        return sh_quantity_unknown(later->why);
    }
    struct sh_quantity difference =
        sh_quantity_known(later->value - earlier->value, hypot(later->u, earlier->u));
    if (later->has_interval || earlier->has_interval) {
        double later_lo = 0.0;
        double later_hi = 0.0;
        double earlier_lo = 0.0;
        double earlier_hi = 0.0;
        sh_quantity_interval(later, &later_lo, &later_hi);
        sh_quantity_interval(earlier, &earlier_lo, &earlier_hi);
        difference.has_interval = true;
        difference.lo =
            difference.value - hypot(later->value - later_lo, earlier_hi - earlier->value);
        difference.hi =
            difference.value + hypot(later_hi - later->value, earlier->value - earlier_lo);
    }
    return difference;
}

/*
 * The event with the standard uncertainty part_u_s, which is part of its own, taken out of it
 * and extra_u_s put in.
 */
static struct sh_quantity
exchange_u(const struct sh_quantity *event, double part_u_s, double extra_u_s)
{
    struct sh_quantity out = *event;
    const double out2 = part_u_s * part_u_s;
    const double in2 = extra_u_s * extra_u_s;
    out.u = sqrt(fmax(out.u * out.u - out2, 0.0) + in2);
    if (out.has_interval) {
        const double below = out.value - out.lo;
        const double above = out.hi - out.value;
        const double square = NORMAL_975 * NORMAL_975;
        out.lo = out.value - sqrt(fmax(below * below - square * out2, 0.0) + square * in2);
        out.hi = out.value + sqrt(fmax(above * above - square * out2, 0.0) + square * in2);
    }
    return out;
}

/* What the clock of a stream that both were read on makes uncertain between two times. */
static double
get_clock_u_s(const struct sh_shot_stream *stream, double later_s, double earlier_s)
{
    if (stream->timebase == NULL || stream->n_frames == 0) {
        return 0.0;
    }
    const double first = (double)stream->first_frame;
    return sh_timebase_get_difference_u_s(stream->timebase, stream->reading,
                                          first + sh_shot_stream_index(stream, 0.0, later_s),
                                          first + sh_shot_stream_index(stream, 0.0, earlier_s));
}

/* An event's time and what its error shares with others'. */
struct shared_time {
    struct sh_quantity at_s;
    const struct sh_event_share *share;
};

static struct sh_quantity get_between(const struct sh_scene *scene,
                                      const struct shared_time *later,
                                      const struct shared_time *earlier)
{
    const struct sh_event_share *a = later->share;
    const struct sh_event_share *b = earlier->share;
    const bool is_one_clock = a->is_known && b->is_known && a->stream == b->stream;
    if (!is_one_clock || !sh_quantity_is_known(&later->at_s) ||
        !sh_quantity_is_known(&earlier->at_s)) {
        return sh_scene_difference(&later->at_s, &earlier->at_s);
    }
    const bool is_one_delay = a->channel == b->channel;
    const struct sh_shot_stream *stream = &scene->view->stream[a->stream];
    const double clock_u_s = get_clock_u_s(stream, later->at_s.value, earlier->at_s.value);
    const struct sh_quantity from =
        exchange_u(&earlier->at_s, hypot(b->clock_u_s, is_one_delay ? b->delay_u_s : 0.0), 0.0);
    const struct sh_quantity to = exchange_u(
        &later->at_s, hypot(a->clock_u_s, is_one_delay ? a->delay_u_s : 0.0), clock_u_s);
    return sh_scene_difference(&to, &from);
}

struct sh_quantity
sh_scene_between(const struct sh_scene *scene, enum sh_event later, enum sh_event earlier)
{
    const struct shared_time to = {sh_scene_event(scene, later),
                                   &scene->shot->event_share[later]};
    const struct shared_time from = {sh_scene_event(scene, earlier),
                                     &scene->shot->event_share[earlier]};
    return get_between(scene, &to, &from);
}

struct sh_quantity sh_scene_since_previous(const struct sh_scene *scene, enum sh_event later)
{
    const struct shared_time to = {sh_scene_event(scene, later),
                                   &scene->shot->event_share[later]};
    const struct shared_time from = {scene->previous_release_s, &scene->previous_share};
    return get_between(scene, &to, &from);
}

struct sh_quantity sh_scene_event_in_force(const struct sh_scene *scene, enum sh_event event)
{
    const struct sh_shot_force *force = &scene->view->force;
    const struct sh_event_share *share = &scene->shot->event_share[event];
    const struct sh_quantity at = sh_scene_event(scene, event);
    if (!sh_quantity_is_known(&at) || !share->is_known || !force->is_present) {
        return at;
    }
    if (share->stream != force->stream) {
        return exchange_u(&at, 0.0, hypot(force->time_u_s, force->delay_u_s));
    }
    if (share->channel != force->channel[0]) {
        return exchange_u(&at, share->clock_u_s, force->delay_u_s);
    }
    return exchange_u(&at, hypot(share->clock_u_s, share->delay_u_s), 0.0);
}

struct sh_quantity sh_scene_c_in_force(const struct sh_scene *scene)
{
    const struct sh_quantity click = sh_scene_event_in_force(scene, SH_EVENT_CLICKER);
    return sh_quantity_is_known(&click) ? click
                                        : sh_scene_event_in_force(scene, SH_EVENT_RELEASE);
}

struct sh_quantity sh_scene_release_in_force(const struct sh_scene *scene)
{
    struct sh_quantity release = sh_scene_event_in_force(scene, SH_EVENT_RELEASE);
    if (!sh_quantity_is_known(&release) || !scene->view->force.is_present) {
        return release;
    }
    double lo = 0.0;
    double hi = 0.0;
    sh_quantity_interval(&release, &lo, &hi);
    const double back_s = release.value - lo + 0.5 / scene->view->force.rate_hz;
    return sh_quantity_known(release.value - back_s, hypot(release.u, hypot(back_s, FALL_U_S)));
}

struct sh_quantity sh_scene_last_c_in_force(const struct sh_scene *scene)
{
    const struct sh_quantity click = sh_scene_event_in_force(scene, SH_EVENT_CLICKER);
    return sh_quantity_is_known(&click) ? click : sh_scene_release_in_force(scene);
}

double sh_scene_get_mean_noise(const struct sh_scene *scene, double window_s)
{
    const struct sh_shot_force *force = &scene->view->force;
    return force->noise_n / sqrt(fmax(window_s * force->rate_hz, 1.0));
}

struct sh_span sh_scene_force_span(const struct sh_scene *scene, double from_s, double until_s)
{
    const struct sh_shot_force *force = &scene->view->force;
    if (!force->is_present) {
        return (struct sh_span){.why = SH_WHY_NO_CHANNEL};
    }
    const struct sh_shot_stream *stream = &scene->view->stream[force->stream];
    struct sh_span span = sh_span_find(stream, force->delay_s, from_s, until_s);
    if (sh_span_is_usable(&span) && span.n > scene->workspace->n_scratch) {
        span.why = SH_WHY_UNRESOLVED;
    }
    return span;
}

size_t sh_scene_force_window(const struct sh_scene *scene, double window_s)
{
    const double rate_hz = scene->view->force.rate_hz;
    return window_s * rate_hz < 0.5 ? 0 : sh_moving_window(window_s, rate_hz);
}

enum sh_why sh_scene_force_mean(const struct sh_scene *scene,
                                double from_s,
                                double until_s,
                                double *value_n)
{
    const struct sh_span span = sh_scene_force_span(scene, from_s, until_s);
    if (!sh_span_is_usable(&span)) {
        return span.why;
    }
    const double *net_n = scene->view->force.net_n + span.first;
    return sh_stats_get_mean(net_n, span.n, value_n, NULL) == SH_OK ? SH_WHY_KNOWN
                                                                    : SH_WHY_UNRESOLVED;
}

enum sh_why sh_scene_force_median(const struct sh_scene *scene,
                                  double from_s,
                                  double until_s,
                                  double *value_n)
{
    const struct sh_span span = sh_scene_force_span(scene, from_s, until_s);
    if (!sh_span_is_usable(&span)) {
        return span.why;
    }
    const double *net_n = scene->view->force.net_n + span.first;
    double *work = scene->workspace->scratch[0];
    return sh_stats_get_median(net_n, span.n, work, value_n, NULL) == SH_OK ? SH_WHY_KNOWN
                                                                            : SH_WHY_UNRESOLVED;
}

double sh_scene_get_median_noise(const struct sh_scene *scene, double from_s, double until_s)
{
    const struct sh_shot_force *force = &scene->view->force;
    const struct sh_span span = sh_scene_force_span(scene, from_s, until_s);
    double median_n = 0.0;
    if (sh_scene_force_median(scene, from_s, until_s, &median_n) != SH_WHY_KNOWN) {
        return 0.0;
    }
    double n_near = 0.0;
    for (size_t i = span.first; i < span.first + span.n; i++) {
        n_near += fabs(force->net_n[i] - median_n) <= force->noise_n ? 1.0 : 0.0;
    }
    return force->noise_n * fmin(sqrt(MEDIAN_SPREAD / fmax(n_near, 1.0)), 1.0);
}

/* What a shift of event k by its uncertainty to both sides makes of the figure. */
static double shift_event(const struct sh_scene *scene,
                          const struct sh_scene_probe *probe,
                          size_t k,
                          double value)
{
    const double at_s[2] = {probe->at[0].value, probe->at[1].value};
    const double u_s = probe->at[k].u;
    double side[2] = {0.0, 0.0};
    bool fits[2] = {false, false};
    for (size_t i = 0; i < 2; i++) {
        double shifted_s[2] = {at_s[0], at_s[1]};
        shifted_s[k] += i == 0 ? -u_s : u_s;
        fits[i] = probe->evaluate(scene, shifted_s, &side[i]) == SH_WHY_KNOWN;
    }
    if (fits[0] && fits[1] && !(probe->is_bound && k == 1)) {
        return 0.5 * fabs(side[1] - side[0]);
    }
    const double one = fits[0] ? side[0] : side[1];
    return fits[0] || fits[1] ? fabs(one - value) : 0.0;
}

struct sh_quantity sh_scene_run_probe(const struct sh_scene *scene,
                                      const struct sh_scene_probe *probe)
{
    if (!scene->view->force.is_present) {
        return sh_quantity_unknown(SH_WHY_NO_CHANNEL);
    }
    for (size_t k = 0; k < 2; k++) {
        if (!sh_quantity_is_known(&probe->at[k])) {
            return sh_quantity_unknown(probe->at[k].why);
        }
    }
    const double at_s[2] = {probe->at[0].value, probe->at[1].value};
    double value = 0.0;
    const enum sh_why why = probe->evaluate(scene, at_s, &value);
    if (why != SH_WHY_KNOWN) {
        return sh_quantity_unknown(why);
    }
    const double first = shift_event(scene, probe, 0, value);
    return sh_quantity_known(value, hypot(first, shift_event(scene, probe, 1, value)));
}

void sh_scene_add_u(struct sh_quantity *figure, double u)
{
    figure->u = hypot(figure->u, u);
    if (figure->has_interval) {
        figure->lo = figure->value - hypot(figure->value - figure->lo, NORMAL_975 * u);
        figure->hi = figure->value + hypot(figure->hi - figure->value, NORMAL_975 * u);
    }
}

void sh_scene_add_force_u(const struct sh_scene *scene,
                          struct sh_quantity *figure,
                          double noise_n,
                          bool is_level)
{
    const struct sh_quantity *rest_n = &scene->shot->rest_n;
    sh_scene_add_u(figure, noise_n);
    sh_scene_add_u(figure, scene->view->force.scale_u_ratio * figure->value);
    if (is_level && sh_quantity_is_known(rest_n)) {
        sh_scene_add_u(figure, rest_n->u);
    }
}

/* Uncertainty of a curve at a value, straight between its points, level beyond them. */
static double get_curve_u(const struct sh_channel *channel, double value)
{
    const struct sh_curve_point *curve = channel->curve;
    const size_t last = channel->n_curve - 1;
    const bool is_rising = curve[last].value > curve[0].value;
    for (size_t i = 0; i < last; i++) {
        const double low = is_rising ? curve[i].value : curve[i + 1].value;
        const double high = is_rising ? curve[i + 1].value : curve[i].value;
        if (value >= low && value <= high && high > low) {
            const double share =
                (value - curve[i].value) / (curve[i + 1].value - curve[i].value);
            return curve[i].u + share * (curve[i + 1].u - curve[i].u);
        }
    }
    const bool is_beyond_last = is_rising == (value > curve[last].value);
    return is_beyond_last ? curve[last].u : curve[0].u;
}

double sh_scene_get_channel_u_ratio(const struct sh_channel *channel, double value)
{
    const double size = fabs(value);
    if (channel->n_curve >= 2) {
        return size > 0.0 ? get_curve_u(channel, value) / size : 0.0;
    }
    const double scale = fabs(channel->scale);
    if (channel->is_physical || !(scale > 0.0)) {
        return channel->scale_u;
    }
    const double counts = size / scale;
    return hypot(channel->scale_u / scale, channel->quadratic_u * counts / scale);
}

struct sh_quantity sh_scene_get_length(const struct sh_scene *scene,
                                       const struct sh_quantity *figure_n)
{
    if (!sh_quantity_is_known(figure_n)) {
        return sh_quantity_unknown(figure_n->why);
    }
    const struct sh_bow *bow = scene->bow;
    const bool is_given = bow != NULL && sh_quantity_is_known(&bow->stiffness_n_per_m) &&
                          bow->stiffness_n_per_m.value > 0.0;
    if (!is_given) {
        return sh_quantity_unknown(SH_WHY_NOT_GIVEN);
    }
    const double stiffness = bow->stiffness_n_per_m.value;
    const double stiffness_ratio = bow->stiffness_n_per_m.u / stiffness;
    const double length_m = figure_n->value / stiffness;
    const double stiffness_u_m = length_m * stiffness_ratio;
    struct sh_quantity length =
        sh_quantity_known(length_m, hypot(figure_n->u / stiffness, stiffness_u_m));
    if (figure_n->has_interval) {
        const double reach_m = 1.96 * stiffness_u_m;
        length.has_interval = true;
        length.lo = length_m - hypot(length_m - figure_n->lo / stiffness, reach_m);
        length.hi = length_m + hypot(figure_n->hi / stiffness - length_m, reach_m);
    }
    return length;
}
