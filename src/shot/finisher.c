/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shot/finisher.h"

#include <math.h>
#include <stdlib.h>

#include "shot/calm.h"
#include "shot/clicker.h"
#include "shot/event_share.h"
#include "shot/force_scale.h"
#include "shot/shock.h"
#include "signal/stats.h"

#define SHOCK_BEFORE_S 0.1 /* looked for around a fall or a trigger */
#define SHOCK_AFTER_S  0.1
#define SHOCK_QUIET_S  1.0 /* before a release without a force: the bow is held */
#define WORK_ARRAYS    4u  /* what the search for a blow needs */

enum sh_status sh_finisher_open(struct sh_finisher *finisher,
                                struct sh_lanes *lanes,
                                double threshold_n,
                                double clicker_prior,
                                struct sh_error *err)
{
    *finisher = (struct sh_finisher){.lanes = lanes,
                                     .threshold_n = threshold_n,
                                     .clicker_prior = clicker_prior,
                                     .n_work = WORK_ARRAYS * (lanes->n_frames_max + 1)};
    sh_finisher_reset(finisher);
    finisher->work = calloc(finisher->n_work, sizeof *finisher->work);
    if (finisher->work == NULL) {
        return sh_error_set(err, SH_ERR_MEMORY, "segmenter", NULL, "no memory for a draw");
    }
    if (!lanes->force.is_present) {
        return SH_OK;
    }
    const struct sh_window *force = sh_lanes_get_leader(lanes);
    const enum sh_status status =
        sh_events_open(lanes->force.rate_hz, sh_history_get_capacity(force->history),
                       lanes->n_frames_max, &finisher->events, err);
    if (status != SH_OK) {
        sh_finisher_close(finisher);
    }
    return status;
}

void sh_finisher_close(struct sh_finisher *finisher)
{
    sh_events_close(&finisher->events);
    free(finisher->work);
    finisher->work = NULL;
}

void sh_finisher_reset(struct sh_finisher *finisher)
{
    const struct sh_shot_force *force = &finisher->lanes->force;
    const struct sh_stream *stream = &sh_lanes_get_leader(finisher->lanes)->stream;
    finisher->n_past = 0;
    finisher->n_tails = 0;
    finisher->last_shock_s = -(double)INFINITY;
    finisher->noise_n = 0.0;
    if (force->is_present) {
        finisher->noise_n =
            sh_force_scale_get_resolution_n(&stream->channel[force->channel[0]]);
    }
    sh_quality_init(&finisher->quality);
}

/* A frame of the force stream as one of the view. */
static size_t to_view(const struct sh_shot_view *view, uint64_t frame)
{
    const struct sh_shot_stream *stream = &view->stream[view->force.stream];
    const uint64_t first = stream->first_frame;
    const uint64_t n = stream->n_frames;
    return (size_t)(frame < first ? 0 : frame - first > n ? n : frame - first);
}

/* The earlier draws of the window, and where this one's room begins. */
static size_t list_skips(const struct sh_finisher *finisher,
                         const struct sh_shot_view *view,
                         struct sh_levels_span *span)
{
    const struct sh_window *window = sh_lanes_get_leader(finisher->lanes);
    size_t room = 0;
    *span = (struct sh_levels_span){.n_skips = finisher->n_past};
    for (size_t k = 0; k < finisher->n_past; k++) {
        const struct sh_finisher_draw *past = &finisher->past[k];
        span->skip[k].from_s = sh_window_get_time_s(window, past->first_frame, NULL);
        span->skip[k].until_s = sh_window_get_time_s(window, past->end_frame, NULL);
        room = to_view(view, past->end_frame);
    }
    return room;
}

static void remember(struct sh_finisher *finisher, const struct sh_finisher_draw *draw)
{
    if (finisher->n_past == SH_LEVELS_SKIPS_MAX) {
        for (size_t k = 1; k < finisher->n_past; k++) {
            finisher->past[k - 1] = finisher->past[k];
        }
        finisher->n_past--;
    }
    finisher->past[finisher->n_past++] = *draw;
}

/* The draw's span on the clock, for what is looked for in all streams. */
struct times {
    double start_s; /* draw start, or the main rise where that is unknown */
    double over_s;  /* release or let-down, or the fall where those are unknown */
    double next_s;
};

static struct times get_times(const struct sh_shot_view *view,
                              const struct sh_shot *shot,
                              const struct sh_events_found *found)
{
    const struct sh_shot_stream *stream = &view->stream[view->force.stream];
    const struct sh_quantity *start_s = &shot->event_s[SH_EVENT_DRAW_START];
    const struct sh_quantity *release_s = &shot->event_s[SH_EVENT_RELEASE];
    const struct sh_quantity *let_down_s = &shot->event_s[SH_EVENT_LET_DOWN];
    const double delay_s = view->force.delay_s;
    struct times times = {.start_s = sh_shot_stream_time(stream, delay_s, found->low_frame),
                          .over_s = sh_shot_stream_time(stream, delay_s, found->fall_frame),
                          .next_s = found->next_s};
    if (sh_quantity_is_known(start_s)) {
        times.start_s = start_s->value;
    }
    if (sh_quantity_is_known(release_s)) {
        times.over_s = release_s->value;
    } else if (sh_quantity_is_known(let_down_s)) {
        times.over_s = let_down_s->value;
    }
    return times;
}

static void find_end(struct sh_finisher *finisher,
                     const struct sh_shot_view *view,
                     const struct times *times,
                     bool is_over,
                     struct sh_shot *shot)
{
    const struct sh_calm_span span = {times->start_s, times->over_s,
                                      fmin(times->over_s + SH_CALM_AFTER_S, times->next_s)};
    struct sh_quantity *end_s = &shot->event_s[SH_EVENT_END];
    *end_s = sh_quantity_unknown(SH_WHY_NOT_SEEN);
    if (is_over) {
        *end_s = sh_calm_find(view, &span, finisher->work, finisher->n_work);
    }

    const double until_s = sh_quantity_is_known(end_s) ? end_s->value : times->over_s;
    sh_quality_judge(&finisher->quality, view, times->start_s, until_s, shot);
}

/* What the detector saw, in frames of the view. */
static struct sh_events_draw see_draw(const struct sh_finisher *finisher,
                                      const struct sh_finisher_draw *draw,
                                      const struct sh_shot_view *view,
                                      struct sh_levels_span *skips)
{
    struct sh_events_draw seen = {.first = to_view(view, draw->first_frame),
                                  .end = view->force.n_frames,
                                  .base_n = draw->base_n,
                                  .threshold_n = finisher->threshold_n,
                                  .rest_noise_n = finisher->noise_n,
                                  .skips = skips};
    seen.room = list_skips(finisher, view, skips);
    if (!draw->is_open) {
        seen.end = to_view(view, draw->end_frame);
    }
    return seen;
}

/* The clicker, with which all events but the end are known, and what their errors share. */
static void find_clicker(struct sh_finisher *finisher,
                         const struct sh_shot_view *view,
                         struct sh_shot *shot)
{
    const struct sh_clicker_config config = {finisher->clicker_prior, finisher->work,
                                             finisher->n_work};
    sh_clicker_find(&config, view, shot);
    if (finisher->click != NULL) {
        sh_click_template_refine(finisher->click, view, finisher->clicker_prior, finisher->work,
                                 shot);
    }
    sh_event_share_set(view, shot);
}

/* Where a shock is looked for: in the bow's axes of the view. */
static struct sh_shock_config get_shock_config(const struct sh_finisher *finisher,
                                               const struct sh_shot_view *view,
                                               double from_s,
                                               double until_s)
{
    const struct sh_lanes *lanes = finisher->lanes;
    struct sh_shock_config config = {.stream = &view->stream[lanes->bow],
                                     .n_channels = lanes->n_axes,
                                     .from_s = from_s,
                                     .until_s = until_s};
    for (size_t i = 0; i < lanes->n_axes; i++) {
        config.channel[i] = lanes->axis[i];
    }
    return config;
}

/* A fall that is neither quick nor slow: did the bow feel a shock about then? */
static void ask_bow(struct sh_finisher *finisher,
                    const struct sh_shot_view *view,
                    struct sh_shot *shot,
                    struct sh_events_found *found)
{
    if (!found->is_between || !finisher->lanes->has_bow) {
        return;
    }
    const struct sh_shot_stream *stream = &view->stream[view->force.stream];
    const double fall_s = sh_shot_stream_time(stream, view->force.delay_s, found->fall_frame);
    const struct sh_shock_config config = get_shock_config(
        finisher, view, fall_s - SHOCK_BEFORE_S, fall_s + found->fall.length_s + SHOCK_AFTER_S);
    struct sh_shock_found shock;
    enum sh_fall_shock answer = SH_FALL_SHOCK_UNKNOWN;
    switch (sh_shock_judge(&config, finisher->work, &shock)) {
    case SH_SHOCK_FOUND:
        answer = SH_FALL_SHOCK_SEEN;
        break;
    case SH_SHOCK_NONE:
        answer = SH_FALL_SHOCK_ABSENT;
        break;
    case SH_SHOCK_UNKNOWN:
        break;
    }
    sh_events_settle(finisher->events, view, answer, shot, found);
}

/* The session's usual ringing; 0 before there is one. */
static double get_usual_m_s2(const struct sh_finisher *finisher)
{
    double work[SH_FINISHER_TAILS_MAX];
    const size_t n =
        finisher->n_tails < SH_FINISHER_TAILS_MAX ? finisher->n_tails : SH_FINISHER_TAILS_MAX;
    if (n < SH_FINISHER_TAILS_MIN) {
        return 0.0;
    }
    for (size_t i = 0; i < n; i++) {
        work[i] = finisher->tail_m_s2[i];
    }
    return sh_stats_select_median(work, n);
}

/* What the force would show. */
static void set_unknown(struct sh_shot *shot)
{
    for (int e = 0; e < SH_EVENT_COUNT; e++) {
        shot->event_s[e] = sh_quantity_unknown(SH_WHY_NO_CHANNEL);
    }
    shot->event_s[SH_EVENT_LET_DOWN] = sh_quantity_unknown(SH_WHY_NOT_APPLICABLE);
    shot->rest_n = sh_quantity_unknown(SH_WHY_NO_CHANNEL);
    shot->drop_n = sh_quantity_unknown(SH_WHY_NO_CHANNEL);
}

/* A shot without a force: its release, and what the other channels show. */
static void finish_shock(struct sh_finisher *finisher,
                         const struct sh_finisher_draw *draw,
                         struct sh_shot *shot,
                         struct sh_shot_view *view,
                         bool *is_draw)
{
    struct sh_lanes *lanes = finisher->lanes;
    const double trigger_s =
        sh_window_get_time_s(sh_lanes_get_leader(lanes), draw->first_frame, NULL);
    struct sh_shock_found shock;
    sh_lanes_cut(lanes, trigger_s - SH_FINISHER_SHOCK_LEAD_S, draw->wait_s, view);
    struct sh_shock_config config = get_shock_config(finisher, view, trigger_s - SHOCK_BEFORE_S,
                                                     trigger_s + SH_SHOCK_MERGE_S);
    config.usual_m_s2 = get_usual_m_s2(finisher);
    *is_draw = sh_shock_judge(&config, finisher->work, &shock) == SH_SHOCK_FOUND &&
               shock.release_s.value >= finisher->last_shock_s + SH_FINISHER_SHOCK_GAP_S;
    if (!*is_draw) {
        return;
    }
    finisher->last_shock_s = shock.release_s.value;
    finisher->tail_m_s2[finisher->n_tails++ % SH_FINISHER_TAILS_MAX] = shock.tail_m_s2;
    set_unknown(shot);
    shot->kind = SH_SHOT_SHOT;
    shot->event_s[SH_EVENT_RELEASE] = shock.release_s;
    find_clicker(finisher, view, shot);
    const double over_s = shock.release_s.value;
    const struct times times = {over_s - SHOCK_QUIET_S, over_s, (double)INFINITY};
    find_end(finisher, view, &times, true, shot);
}

enum sh_status sh_finisher_run(struct sh_finisher *finisher,
                               const struct sh_finisher_draw *draw,
                               struct sh_shot *shot,
                               struct sh_shot_view *view,
                               bool *is_draw)
{
    struct sh_lanes *lanes = finisher->lanes;
    const struct sh_window *window = sh_lanes_get_leader(lanes);
    const uint64_t lead = (uint64_t)(SH_FINISHER_LEAD_S * lanes->force.rate_hz);
    const uint64_t first = draw->first_frame > lead ? draw->first_frame - lead : 0;
    struct sh_events_found found;
    struct sh_levels_span skips;
    *shot = (struct sh_shot){.n = 0};
    if (draw->is_shock) {
        finish_shock(finisher, draw, shot, view, is_draw);
        return SH_OK;
    }
    sh_lanes_cut(lanes, sh_window_get_time_s(window, first, NULL), draw->wait_s, view);
    (void)sh_window_get_time_s(window, draw->end_frame, &view->force.time_u_s);
    const struct sh_events_draw seen = see_draw(finisher, draw, view, &skips);
    remember(finisher, draw);
    const enum sh_status status =
        sh_events_find(finisher->events, &seen, view, lanes->net_n, shot, &found);
    *is_draw = status == SH_OK && found.is_draw;
    if (!*is_draw) {
        return status;
    }
    ask_bow(finisher, view, shot, &found);
    const struct times times = get_times(view, shot, &found);
    sh_lanes_trim(lanes, times.start_s - SH_SHOT_LEAD_S, view);
    find_clicker(finisher, view, shot);
    find_end(finisher, view, &times, found.has_fall, shot);
    finisher->noise_n = shot->rest_noise_n;
    return SH_OK;
}
