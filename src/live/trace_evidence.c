/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "live/trace_evidence.h"

#include <math.h>
#include <stdlib.h>

#include "live/shot_window.h"
#include "signal/moving.h"
#include "signal/stats.h"

/* Windows of the definitions, s. */
#define CREEP_AFTER_S  0.35
#define CREEP_WINDOW_S 0.5
#define TREND_FROM_S   1.05
#define TREND_UNTIL_S  0.05
#define COLLAPSE_S     0.2
#define RELEASE_S      0.03
#define FLINCH_LAG_S   0.12
#define FLINCH_SIDE_S  0.06
#define FLINCH_DIP_S   0.03
#define SHARE_S        0.1
#define SHARE_FORCE_N  1.0 /* under so much of all fingers there is no share */

/* An event's time; NaN where unknown. */
static double get_event_s(const struct sh_shot_record *record, enum sh_event event)
{
    const struct sh_quantity *at = &record->shot.event_s[event];
    return sh_quantity_is_known(at) ? at->value : (double)NAN;
}

/* c of the definitions. */
static double get_c_s(const struct sh_shot_record *record)
{
    double click_s = get_event_s(record, SH_EVENT_CLICKER);
    return isfinite(click_s) ? click_s : get_event_s(record, SH_EVENT_RELEASE);
}

static double get_time_s(const struct sh_shot_view *view, double frame)
{
    return sh_shot_stream_time(&view->stream[view->force.stream], view->force.delay_s, frame);
}

/* Mean of the net force; NaN where there is none. */
static double find_mean(const struct sh_shot_view *view, double from_s, double until_s)
{
    struct sh_shot_window_span span = sh_shot_window_find_force(view, from_s, until_s);
    double sum_n = 0.0;
    for (size_t i = 0; i < span.n; i++) {
        sum_n += view->force.net_n[span.first + i];
    }
    return span.n > 0 ? sum_n / (double)span.n : (double)NAN;
}

static bool is_whole(const struct sh_trace_evidence *found)
{
    return isfinite(found->from_s) && isfinite(found->until_s) && isfinite(found->from_value) &&
           isfinite(found->until_value);
}

static bool find_creep(const struct sh_shot_record *record,
                       const struct sh_shot_view *view,
                       struct sh_trace_evidence *out)
{
    struct sh_moving_fall fall = {.fall = 0.0};
    size_t n_window = sh_moving_window(CREEP_WINDOW_S, view->force.rate_hz);
    struct sh_shot_window_span span = sh_shot_window_find_force(
        view, get_event_s(record, SH_EVENT_FULL_DRAW) + CREEP_AFTER_S, get_c_s(record));
    if (n_window == 0 || span.n < n_window) {
        return false;
    }
    size_t n_means = span.n - n_window + 1;
    double *mean_n = malloc(n_means * sizeof *mean_n);
    bool is_found =
        mean_n != NULL &&
        sh_moving_mean(view->force.net_n + span.first, span.n, n_window, mean_n) == SH_OK &&
        sh_moving_find_fall(mean_n, n_means, &fall) == SH_OK && fall.fall > 0.0;
    if (is_found) {
        double centre = (double)span.first + (double)(n_window - 1) / 2.0;
        *out = (struct sh_trace_evidence){
            .from_s = get_time_s(view, centre + (double)fall.i_top),
            .until_s = get_time_s(view, centre + (double)fall.i_bottom),
            .from_value = mean_n[fall.i_top],
            .until_value = mean_n[fall.i_bottom]};
    }
    free(mean_n);
    return is_found;
}

static bool find_flinch(const struct sh_shot_record *record,
                        const struct sh_shot_view *view,
                        struct sh_trace_evidence *out)
{
    const struct sh_quantity *at = sh_catalog_get(&record->measures, SH_MEASURE_FLINCH_TIME, 0);
    if (!sh_quantity_is_known(at)) {
        return false;
    }
    double before_s = at->value - FLINCH_LAG_S;
    double after_s = at->value + FLINCH_LAG_S;
    const double half_s = FLINCH_SIDE_S / 2.0;
    *out = (struct sh_trace_evidence){
        .from_s = before_s,
        .until_s = at->value,
        .from_value = fmin(find_mean(view, before_s - half_s, before_s + half_s),
                           find_mean(view, after_s - half_s, after_s + half_s)),
        .until_value =
            find_mean(view, at->value - FLINCH_DIP_S / 2.0, at->value + FLINCH_DIP_S / 2.0)};
    return is_whole(out);
}

static bool find_collapse(const struct sh_shot_record *record,
                          const struct sh_shot_view *view,
                          struct sh_trace_evidence *out)
{
    double click_s = get_event_s(record, SH_EVENT_CLICKER);
    double release_s = get_event_s(record, SH_EVENT_RELEASE);
    const struct sh_quantity *release_n =
        sh_catalog_get(&record->measures, SH_MEASURE_RELEASE_FORCE, 0);
    *out = (struct sh_trace_evidence){
        .from_s = click_s - COLLAPSE_S,
        .until_s = release_s - RELEASE_S / 2.0,
        .from_value = find_mean(view, click_s - COLLAPSE_S, click_s),
        .until_value = sh_quantity_is_known(release_n) ? release_n->value : (double)NAN};
    return is_whole(out);
}

/* Net value of a finger's channel at a frame. */
static double get_finger_n(const struct sh_shot_stream *stream, size_t channel, size_t frame)
{
    const struct sh_quantity *rest = &stream->rest_n[channel];
    return stream->value[channel][frame] - (sh_quantity_is_known(rest) ? rest->value : 0.0);
}

/* Sum of a channel's net values over a span. */
static double
get_finger_sum_n(const struct sh_shot_stream *stream, size_t k, struct sh_shot_window_span span)
{
    double sum_n = 0.0;
    for (size_t frame = span.first; frame < span.first + span.n; frame++) {
        sum_n += get_finger_n(stream, k, frame);
    }
    return sum_n;
}

/* Mean share of the ring finger over a time, of all fingers of its stream; NaN without. */
static double find_share(const struct sh_shot_view *view, double from_s, double until_s)
{
    size_t i = 0;
    size_t ring = 0;
    double sum_n = 0.0;
    if (!sh_shot_view_find(view, SH_ROLE_FINGER_FORCE, SH_AXIS_NONE, SH_FINGER_RING, &i,
                           &ring)) {
        return (double)NAN;
    }
    const struct sh_shot_stream *stream = &view->stream[i];
    struct sh_shot_window_span span =
        sh_shot_window_find(stream, stream->stream->channel[ring].delay_s, from_s, until_s);
    for (size_t k = 0; k < stream->stream->n_channels; k++) {
        if (stream->stream->channel[k].role == SH_ROLE_FINGER_FORCE) {
            sum_n += get_finger_sum_n(stream, k, span);
        }
    }
    double ring_n = get_finger_sum_n(stream, ring, span);
    return sum_n > SHARE_FORCE_N * (double)span.n ? ring_n / sum_n : (double)NAN;
}

static bool find_slide(const struct sh_shot_record *record,
                       const struct sh_shot_view *view,
                       struct sh_trace_evidence *out)
{
    const struct sh_quantity *at =
        sh_catalog_get(&record->measures, SH_MEASURE_FINGER_SLIDE, 0);
    double release_s = get_event_s(record, SH_EVENT_RELEASE);
    double full_draw_s = get_event_s(record, SH_EVENT_FULL_DRAW);
    double from_s = sh_quantity_is_known(at) ? at->value : full_draw_s;
    *out = (struct sh_trace_evidence){
        .from_s = from_s,
        .until_s = release_s - SHARE_S / 2.0,
        .from_value = find_share(view, fmax(from_s - SHARE_S, full_draw_s),
                                 fmax(from_s, full_draw_s + SHARE_S)),
        .until_value = find_share(view, release_s - SHARE_S, release_s),
        .is_share = true};
    return is_whole(out);
}

bool sh_trace_evidence_find(enum sh_code code,
                            const struct sh_shot_record *record,
                            const struct sh_shot_view *view,
                            struct sh_trace_evidence *out)
{
    if (code == SH_CODE_FINGER_SLIDE) {
        return find_slide(record, view, out);
    }
    if (!view->force.is_present) {
        return false;
    }
    if (code == SH_CODE_CREEP) {
        return find_creep(record, view, out);
    }
    if (code == SH_CODE_FLINCH) {
        return find_flinch(record, view, out);
    }
    return code == SH_CODE_COLLAPSE && find_collapse(record, view, out);
}

bool sh_trace_evidence_find_trend(const struct sh_shot_record *record,
                                  const struct sh_shot_view *view,
                                  struct sh_trace_evidence *out)
{
    const struct sh_quantity *slope =
        sh_catalog_get(&record->measures, SH_MEASURE_CREEP_RATE, 0);
    double from_s = get_c_s(record) - TREND_FROM_S;
    double until_s = get_c_s(record) - TREND_UNTIL_S;
    double level_n = 0.0;
    struct sh_shot_window_span span = sh_shot_window_find_force(view, from_s, until_s);
    if (!sh_quantity_is_known(slope) || span.n < 2) {
        return false;
    }
    double *left_n = malloc(2 * span.n * sizeof *left_n);
    for (size_t i = 0; left_n != NULL && i < span.n; i++) {
        size_t frame = span.first + i;
        left_n[i] = view->force.net_n[frame] -
                    slope->value * (get_time_s(view, (double)frame) - from_s);
    }
    bool is_found = left_n != NULL && sh_stats_get_median(left_n, span.n, left_n + span.n,
                                                          &level_n, NULL) == SH_OK;
    free(left_n);
    *out =
        (struct sh_trace_evidence){.from_s = from_s,
                                   .until_s = until_s,
                                   .from_value = level_n,
                                   .until_value = level_n + slope->value * (until_s - from_s)};
    return is_found && is_whole(out);
}
