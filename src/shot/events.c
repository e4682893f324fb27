/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shot/events.h"

#include <math.h>
#include <stdlib.h>

#include "shot/detector.h"
#include "shot/event_time.h"
#include "shot/force_scale.h"
#include "shot/pull.h"
#include "shot/release.h"
#include "shot/rise.h"

#define NEXT_RATIO     0.05 /* of this draw's largest force: the next one has not begun */
#define CLIPPED_SPAN_S 0.06 /* before a release */
#define RECTANGLE      0.5773502691896258 /* standard deviation of a half-width 1: 1/sqrt 3 */
#define FALL_MARGIN_S  0.01 /* around a fall: no sample lost there, or it was not seen */

struct sh_events {
    struct sh_pull *pull;
    double *work; /* [2 n_frames_max] */
    size_t n_frames_max;
};

enum sh_status sh_events_open(double force_rate_hz,
                              size_t n_force_frames,
                              size_t n_frames_max,
                              struct sh_events **out,
                              struct sh_error *err)
{
    struct sh_events *events = calloc(1, sizeof *events);
    if (events == NULL) {
        return sh_error_set(err, SH_ERR_MEMORY, "events", NULL, "no memory for a draw");
    }
    events->n_frames_max = n_frames_max;
    events->work = calloc(2 * n_frames_max, sizeof *events->work);
    enum sh_status status = SH_ERR_MEMORY;
    if (events->work == NULL) {
        status = sh_error_set(err, SH_ERR_MEMORY, "events", NULL, "no memory for a draw");
        goto out;
    }
    status = sh_pull_open(force_rate_hz, n_force_frames, &events->pull, err);
    if (status != SH_OK) {
        goto out;
    }
    *out = events;
    return SH_OK;
out:
    sh_events_close(&events);
    return status;
}

void sh_events_close(struct sh_events **events)
{
    if (events == NULL || *events == NULL) {
        return;
    }
    sh_pull_close(&(*events)->pull);
    free((*events)->work);
    free(*events);
    *events = NULL;
}

/* Averages of a draw's window: where its room begins and where it ends. */
struct bounds {
    size_t first;
    size_t end;
};

static struct bounds get_bounds(const struct sh_pull *pull, const struct sh_events_draw *draw)
{
    const size_t first = sh_pull_get_average(pull, draw->room);
    const size_t end = sh_pull_get_average(pull, draw->end) + 1;
    return (struct bounds){first, end > first + 1 ? end : pull->n};
}

/* Net force over the threshold for SH_DETECTOR_DRAW_S in a row? */
static bool is_draw(const struct sh_pull *pull, const struct bounds *bounds, double threshold_n)
{
    double n_above = 0.0;
    for (size_t i = bounds->first; i < bounds->end; i++) {
        n_above = pull->force_n[i] > threshold_n ? n_above + 1.0 : 0.0;
        if (n_above >= SH_DETECTOR_DRAW_S * pull->rate_hz) {
            return true;
        }
    }
    return false;
}

/* Finds the fall, or what stands for it where the force has not come down. */
static bool
find_fall(const struct sh_pull *pull, const struct bounds *bounds, struct sh_fall *fall)
{
    if (sh_fall_find(pull, bounds->first, bounds->end, fall)) {
        return true;
    }
    size_t mean = 0;
    const double largest_n = sh_pull_get_largest(pull, bounds->first, bounds->end, &mean);
    *fall = (struct sh_fall){.largest_n = largest_n,
                             .high_n = largest_n,
                             .half = bounds->end - 1,
                             .begin = (double)bounds->end - 1.0,
                             .end = (double)bounds->end - 1.0};
    return false;
}

/* Time from which on the next draw may be under way; infinity where none is in the window. */
static double find_next_s(const struct sh_pull *pull,
                          const struct sh_shot_view *view,
                          const struct sh_fall *fall,
                          double threshold_n)
{
    const double quiet_n = NEXT_RATIO * fall->largest_n;
    const size_t bottom = (size_t)ceil(fall->end) + 1;
    for (size_t i = bottom; i < pull->n_means; i++) {
        if (pull->mean_n[i] > threshold_n) {
            const size_t low = sh_rise_find_low(pull, bottom, i, quiet_n);
            const struct sh_shot_stream *stream = &view->stream[view->force.stream];
            return sh_shot_stream_time(stream, view->force.delay_s,
                                       sh_pull_get_frame(pull, (double)low));
        }
    }
    return (double)INFINITY;
}

/* The spans in which rest is looked for. */
static struct sh_levels_span get_span(const struct sh_pull *pull,
                                      const struct sh_shot_view *view,
                                      const struct sh_events_draw *draw,
                                      const struct sh_events_found *found)
{
    const struct sh_shot_stream *stream = &view->stream[view->force.stream];
    struct sh_levels_span span = *draw->skips;
    const size_t room = sh_pull_get_average(pull, draw->room);
    const size_t low = sh_rise_find_low(pull, room, found->fall.half,
                                        SH_RISE_LOW_RATIO * found->fall.largest_n);
    span.low_s = sh_shot_stream_time(stream, 0.0, sh_pull_get_frame(pull, (double)low));
    span.fall_s = sh_shot_stream_time(stream, 0.0, sh_pull_get_frame(pull, found->fall.end));
    span.until_s = found->next_s;
    span.has_after = found->has_fall && found->fall.length_s < SH_FALL_LET_DOWN_MIN_S;
    return span;
}

static bool is_force(enum sh_role role)
{
    return role == SH_ROLE_STRING_FORCE || role == SH_ROLE_FINGER_FORCE;
}

static void find_stream_levels(struct sh_events *events,
                               struct sh_shot_stream *stream,
                               const struct sh_levels_span *span)
{
    for (size_t c = 0; c < stream->stream->n_channels && stream->n_frames > 0; c++) {
        const struct sh_channel *channel = &stream->stream->channel[c];
        if (!is_force(channel->role)) {
            continue;
        }
        struct sh_rest_level level;
        sh_levels_find(stream, stream->value[c], sh_force_scale_get_resolution_n(channel), span,
                       events->work, &level);
        stream->rest_n[c] = level.level_n;
    }
}

/* Takes the rest level off the force; where there is none, the detector's. */
static void take_rest_off(struct sh_events *events,
                          const struct sh_events_draw *draw,
                          struct sh_shot_view *view,
                          double *net_n,
                          const struct sh_levels_span *span,
                          struct sh_shot *shot)
{
    struct sh_shot_force *force = &view->force;
    const struct sh_shot_stream *stream = &view->stream[force->stream];
    const struct sh_channel *channel = &stream->stream->channel[force->channel[0]];
    struct sh_rest_level level;
    sh_levels_find(stream, net_n, sh_force_scale_get_resolution_n(channel), span, events->work,
                   &level);
    if (!sh_quantity_is_known(&level.level_n)) {
        level.level_n = sh_quantity_known(draw->base_n, SH_REST_TOLERANCE_N);
    }
    const bool has_noise = level.white_n > 0.0;
    for (size_t i = 0; i < force->n_frames; i++) {
        net_n[i] -= level.level_n.value;
    }
    shot->rest_n = level.level_n;
    shot->rest_noise_n = has_noise ? level.noise_n : draw->rest_noise_n;
    force->noise_n = has_noise ? level.white_n : draw->rest_noise_n;
}

/* Values and rest levels of the force's channels, where the draw's mean is largest. */
static void
find_scale(const struct sh_pull *pull, const struct bounds *bounds, struct sh_shot_view *view)
{
    struct sh_shot_force *force = &view->force;
    const struct sh_shot_stream *stream = &view->stream[force->stream];
    double value_n[SH_STREAM_CHANNELS_MAX];
    double rest_n[SH_STREAM_CHANNELS_MAX];
    size_t mean = 0;
    (void)sh_pull_get_largest(pull, bounds->first, bounds->end, &mean);
    const size_t frame = (size_t)sh_pull_get_mean_frame(pull, (double)mean);
    for (size_t i = 0; i < force->n_channels; i++) {
        const size_t c = force->channel[i];
        value_n[i] = stream->value[c][frame];
        rest_n[i] = sh_quantity_is_known(&stream->rest_n[c]) ? stream->rest_n[c].value : 0.0;
    }
    force->scale_u_ratio = sh_force_scale_get_u_ratio(view, value_n, rest_n);
}

/* The draw's first frame at the end of the sensor's range; n_frames where there is none. */
static size_t find_full(const struct sh_shot_view *view, const struct sh_events_found *found)
{
    const unsigned char *flags = view->stream[view->force.stream].flags;
    size_t i = (size_t)fmax(0.0, found->low_frame);
    while (i < view->force.n_frames && (double)i < found->fall_frame &&
           (flags[i] & SH_SHOT_FLAG_FULL) == 0) {
        i++;
    }
    return (double)i < found->fall_frame ? i : view->force.n_frames;
}

static void find_rise(struct sh_events *events,
                      const struct sh_shot_view *view,
                      size_t first,
                      struct sh_shot *shot,
                      struct sh_events_found *found)
{
    struct sh_rise rise;
    sh_rise_find(events->pull, first, &found->fall, &rise);
    found->low_frame = sh_pull_get_frame(events->pull, (double)rise.low);
    const size_t full = find_full(view, found);
    if (full < view->force.n_frames) {
        sh_rise_doubt(events->pull, sh_pull_get_average(events->pull, full), &rise);
    }
    shot->event_s[SH_EVENT_DRAW_START] = sh_event_time_get(view, &rise.draw_start);
    shot->event_s[SH_EVENT_FULL_DRAW] = sh_event_time_get(view, &rise.full_draw);
}

/* A fall that was cut by a gap was not seen. */
static bool is_fall_lost(const struct sh_shot_view *view,
                         const struct sh_pull *pull,
                         const struct sh_fall *fall)
{
    const double margin = FALL_MARGIN_S * view->force.rate_hz + 1.0;
    return sh_event_time_is_lost(view, sh_pull_get_frame(pull, fall->begin) - margin,
                                 sh_pull_get_frame(pull, fall->end) + margin);
}

/*
 * Where the force was beyond its sensor's range before it fell, the level it fell from is not
 * known: its tenth may have gone up to the fall's own length sooner.
 */
static void doubt_clipped(const struct sh_shot_view *view,
                          const struct sh_fall *fall,
                          struct sh_quantity *release)
{
    const double rate_hz = view->force.rate_hz;
    double lo = 0.0;
    double hi = 0.0;
    if (!sh_quantity_is_known(release) ||
        !sh_event_time_is_clipped(view, release->value - CLIPPED_SPAN_S * rate_hz,
                                  release->value)) {
        return;
    }
    const double reach = fall->length_s * rate_hz;
    sh_quantity_interval(release, &lo, &hi);
    release->lo = lo - reach;
    release->hi = hi;
    release->has_interval = true;
    release->u = hypot(release->u, RECTANGLE * reach);
}

void sh_events_settle(struct sh_events *events,
                      const struct sh_shot_view *view,
                      enum sh_fall_shock shock,
                      struct sh_shot *shot,
                      struct sh_events_found *found)
{
    const enum sh_why none = found->has_fall ? SH_WHY_UNRESOLVED : SH_WHY_NOT_SEEN;
    shot->event_s[SH_EVENT_RELEASE] = sh_quantity_unknown(none);
    shot->event_s[SH_EVENT_LET_DOWN] = sh_quantity_unknown(none);
    shot->drop_n = sh_quantity_unknown(SH_WHY_NOT_APPLICABLE);
    shot->kind = SH_SHOT_UNRESOLVED;
    found->fall_frame = sh_pull_get_frame(events->pull, found->fall.begin);
    if (!found->has_fall) {
        return;
    }
    if (is_fall_lost(view, events->pull, &found->fall)) {
        found->has_fall = false;
        shot->event_s[SH_EVENT_RELEASE] = sh_quantity_unknown(SH_WHY_GAP);
        shot->event_s[SH_EVENT_LET_DOWN] = sh_quantity_unknown(SH_WHY_GAP);
        return;
    }
    shot->kind = sh_fall_get_kind(&found->fall, shock);
    const struct sh_release_force force = {view->force.net_n, view->force.n_frames,
                                           view->force.rate_hz, view->force.noise_n};
    if (shot->kind == SH_SHOT_SHOT) {
        struct sh_release release;
        sh_release_find(&force, events->pull, &found->fall, &release);
        doubt_clipped(view, &found->fall, &release.release);
        shot->event_s[SH_EVENT_RELEASE] = sh_event_time_map(view, &release.release);
        shot->event_s[SH_EVENT_LET_DOWN] = sh_quantity_unknown(SH_WHY_NOT_APPLICABLE);
        shot->drop_n = release.drop_n;
    } else if (shot->kind == SH_SHOT_LET_DOWN) {
        struct sh_quantity let_down = sh_release_find_let_down(events->pull, 0, &found->fall);
        if (sh_quantity_is_known(&let_down) && find_full(view, found) < view->force.n_frames) {
            let_down = sh_quantity_unknown(SH_WHY_CLIPPED); /* its largest force is not known */
        }
        shot->event_s[SH_EVENT_LET_DOWN] = sh_event_time_get(view, &let_down);
        shot->event_s[SH_EVENT_RELEASE] = sh_quantity_unknown(SH_WHY_NOT_APPLICABLE);
    }
}

enum sh_status sh_events_find(struct sh_events *events,
                              const struct sh_events_draw *draw,
                              struct sh_shot_view *view,
                              double *net_n,
                              struct sh_shot *shot,
                              struct sh_events_found *found)
{
    struct sh_pull *pull = events->pull;
    const size_t n = view->force.n_frames;
    *found = (struct sh_events_found){.is_draw = false};
    enum sh_status status = sh_pull_load(pull, net_n, n, 0.0);
    if (status != SH_OK) {
        return status == SH_ERR_SHORT ? SH_OK : status;
    }
    for (size_t i = 0; i < pull->n; i++) {
        pull->force_n[i] -= draw->base_n;
    }
    for (size_t i = 0; i < pull->n_means; i++) {
        pull->mean_n[i] -= draw->base_n;
    }
    const struct bounds bounds = get_bounds(pull, draw);
    found->has_fall = find_fall(pull, &bounds, &found->fall);
    found->next_s = find_next_s(pull, view, &found->fall, draw->threshold_n);
    const struct sh_levels_span span = get_span(pull, view, draw, found);
    for (size_t s = 0; s < view->n_streams; s++) {
        find_stream_levels(events, &view->stream[s], &span);
    }
    take_rest_off(events, draw, view, net_n, &span, shot);

    status = sh_pull_load(pull, net_n, n, view->force.noise_n);
    if (status != SH_OK) {
        return status;
    }
    found->is_draw = is_draw(pull, &bounds, draw->threshold_n);
    if (!found->is_draw) {
        return SH_OK;
    }
    found->has_fall = find_fall(pull, &bounds, &found->fall);
    found->is_between = found->has_fall && found->fall.length_s > SH_FALL_SHOT_MAX_S &&
                        found->fall.length_s < SH_FALL_LET_DOWN_MIN_S;
    find_scale(pull, &bounds, view);
    found->fall_frame = sh_pull_get_frame(pull, found->fall.begin);
    find_rise(events, view, bounds.first, shot, found);
    sh_events_settle(events, view, SH_FALL_SHOCK_UNKNOWN, shot, found);
    return SH_OK;
}
