/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "measure/finger_share.h"

#include <math.h>
#include <string.h>

#include "measure/finger_slide.h"
#include "signal/moving.h"
#include "signal/stats.h"

#define FINGERS            SH_FINGER_NET_COUNT
#define RING               2u
#define EARLY_S            0.5
#define LATE_S             0.1
#define SLIDE_BLOCK_S      0.05
#define SLIDE_STEP_S       0.01
#define SUM_MIN_N          1.0
#define MEDIAN_NOISE_RATIO 1.2533 /* sqrt(pi / 2) */

/* Shares over the hold: series of each finger in scratch[0..2], scratch[3] for work. */
struct share_hold {
    const struct sh_finger_net *net;
    struct sh_workspace *workspace;
    struct sh_span span;
    double rate_hz;
    const double *time_s; /* of the span's samples, delay not taken off */
    double delay_s;
};

/* Median shares of a window and the median force behind them. */
struct share_window {
    double share[FINGERS];
    double sum_n;
    double n;
    double middle_s; /* of its time */
};

static enum sh_why make_series(const struct sh_scene *scene,
                               const struct sh_finger_net *net,
                               struct share_hold *hold)
{
    const struct sh_quantity full_draw = sh_scene_event(scene, SH_EVENT_FULL_DRAW);
    const struct sh_quantity release = sh_scene_event(scene, SH_EVENT_RELEASE);
    for (size_t k = 0; k < FINGERS; k++) {
        if (net->finger[k].why != SH_WHY_KNOWN) {
            return net->finger[k].why;
        }
        if (net->finger[k].stream != net->finger[0].stream) {
            return SH_WHY_UNRESOLVED;
        }
    }
    if (!sh_quantity_is_known(&full_draw) || !sh_quantity_is_known(&release)) {
        return sh_quantity_is_known(&full_draw) ? release.why : full_draw.why;
    }
    const struct sh_shot_stream *stream = &scene->view->stream[net->finger[0].stream];
    hold->net = net;
    hold->workspace = scene->workspace;
    hold->span = sh_finger_net_span(scene, &net->finger[0], full_draw.value, release.value);
    if (!sh_span_is_usable(&hold->span)) {
        return hold->span.why;
    }
    hold->rate_hz = stream->stream->rate_hz;
    hold->time_s = stream->time_s + hold->span.first;
    hold->delay_s = net->finger[RING].channel->delay_s;
    for (size_t k = 0; k < FINGERS; k++) {
        sh_finger_net_copy(&net->finger[k], &hold->span, scene->workspace->scratch[k]);
    }
    double *const *series = scene->workspace->scratch;
    for (size_t i = 0; i < hold->span.n; i++) {
        const double sum_n = series[0][i] + series[1][i] + series[2][i];
        if (!(sum_n >= SUM_MIN_N)) {
            return SH_WHY_UNRESOLVED;
        }
        for (size_t k = 0; k < FINGERS; k++) {
            series[k][i] /= sum_n;
        }
    }
    return SH_WHY_KNOWN;
}

static struct share_window get_window(const struct share_hold *hold, size_t first, size_t n)
{
    const double *time_s = hold->time_s + first;
    struct share_window window = {
        .n = (double)n, .middle_s = 0.5 * (time_s[0] + time_s[n - 1u]) - hold->delay_s};
    double *work = hold->workspace->scratch[3];
    for (size_t k = 0; k < FINGERS; k++) {
        memcpy(work, hold->workspace->scratch[k] + first, n * sizeof(*work));
        window.share[k] = sh_stats_select_median(work, n);
    }
    for (size_t i = 0; i < n; i++) {
        work[i] = 0.0;
        for (size_t k = 0; k < FINGERS; k++) {
            const struct sh_finger_channel *finger = &hold->net->finger[k];
            work[i] += finger->value[hold->span.first + first + i] - finger->rest_n;
        }
    }
    window.sum_n = sh_stats_select_median(work, n);
    return window;
}

/* What a change of finger j's force by 1 N makes of finger k's share. */
static double get_sensitivity(const struct share_window *window, size_t k, size_t j)
{
    return ((k == j ? 1.0 : 0.0) - window->share[k]) / window->sum_n;
}

/* Standard uncertainty of a force of a finger from noise alone, as a median of the window. */
static double
get_noise(const struct share_hold *hold, const struct share_window *window, size_t j)
{
    return MEDIAN_NOISE_RATIO * hold->net->finger[j].loaded_noise_n / sqrt(window->n);
}

static double
get_share_u(const struct share_hold *hold, const struct share_window *window, size_t k)
{
    double u = 0.0;
    for (size_t j = 0; j < FINGERS; j++) {
        const struct sh_finger_channel *finger = &hold->net->finger[j];
        const double force_n = window->share[j] * window->sum_n;
        const double ratio = hypot(sh_scene_get_channel_u_ratio(finger->channel, force_n),
                                   sh_finger_net_drift_u_ratio(finger, window->middle_s));
        const double error_n =
            hypot(hypot(ratio * force_n, finger->rest_u_n), get_noise(hold, window, j));
        u = hypot(u, get_sensitivity(window, k, j) * error_n);
    }
    return u;
}

/* Calibration and rest err alike in both windows: only what differs counts. */
static double get_change_u(const struct share_hold *hold,
                           const struct share_window *early,
                           const struct share_window *late,
                           size_t k)
{
    double u = 0.0;
    for (size_t j = 0; j < FINGERS; j++) {
        const struct sh_finger_channel *finger = &hold->net->finger[j];
        const double early_n = early->share[j] * early->sum_n;
        const double late_n = late->share[j] * late->sum_n;
        const double a = get_sensitivity(early, k, j);
        const double b = get_sensitivity(late, k, j);
        const double ratio = sh_scene_get_channel_u_ratio(finger->channel, late_n);
        u = hypot(u, ratio * (b * late_n - a * early_n));
        u = hypot(u, b * late_n * sh_finger_net_drift_u_ratio(finger, late->middle_s) -
                         a * early_n * sh_finger_net_drift_u_ratio(finger, early->middle_s));
        u = hypot(u, finger->rest_u_n * (b - a));
        u = hypot(u, a * get_noise(hold, early, j));
        u = hypot(u, b * get_noise(hold, late, j));
    }
    return u;
}

/* Means of n_block samples of a finger's share into points; their number. */
static size_t
make_blocks(const struct share_hold *hold, size_t k, size_t n_block, double *points)
{
    const double *share = hold->workspace->scratch[k];
    const size_t n_room = SH_WORKSPACE_POINTS_ROOM / 2u;
    size_t n = 0;
    for (size_t i = 0; i + n_block <= hold->span.n && n < n_room; i += n_block) {
        double sum = 0.0;
        for (size_t m = i; m < i + n_block; m++) {
            sum += share[m];
        }
        points[n++] = sum / (double)n_block;
    }
    return n;
}

static void measure_change(const struct share_hold *hold, struct sh_measures *measures)
{
    struct sh_quantity *change = &measures->quantity[SH_MEASURE_FINGER_SHARE_CHANGE_FIRST];
    const size_t n_early = sh_moving_window(EARLY_S, hold->rate_hz);
    const size_t n_late = sh_moving_window(LATE_S, hold->rate_hz);
    if (hold->span.n < n_early) {
        for (size_t k = 0; k < FINGERS; k++) {
            change[k] = sh_quantity_unknown(SH_WHY_TOO_SHORT);
        }
        return;
    }
    const struct share_window early = get_window(hold, 0, n_early);
    const struct share_window late = get_window(hold, hold->span.n - n_late, n_late);
    for (size_t k = 0; k < FINGERS; k++) {
        change[k] = sh_quantity_known(late.share[k] - early.share[k],
                                      get_change_u(hold, &early, &late, k));
    }
}

static struct sh_quantity find_slide(const struct share_hold *hold,
                                     const struct sh_quantity *ring_change)
{
    if (!sh_quantity_is_known(ring_change)) {
        return sh_quantity_unknown(ring_change->why);
    }
    if (ring_change->value > -SH_FINGER_SLIDE_FALL) {
        return sh_quantity_unknown(SH_WHY_NOT_SEEN);
    }
    const size_t n_block = sh_moving_window(SLIDE_BLOCK_S, hold->rate_hz);
    double *share = hold->workspace->points;
    double *time_s = share + SH_WORKSPACE_POINTS_ROOM / 2u;
    const size_t n = make_blocks(hold, RING, n_block, share);
    for (size_t i = 0; i < n; i++) {
        const double first_s = hold->time_s[i * n_block];
        const double last_s = hold->time_s[(i + 1u) * n_block - 1u];
        time_s[i] = 0.5 * (first_s + last_s) - hold->delay_s;
    }
    /* the last block may hold the loose */
    const struct sh_finger_slide_series series = {
        .time_s = time_s, .share = share, .n = n > 0 ? n - 1u : 0, .step_s = SLIDE_STEP_S};
    return sh_finger_slide_find(&series);
}

void sh_finger_share_measure(const struct sh_scene *scene,
                             const struct sh_finger_net *net,
                             struct sh_measures *measures)
{
    struct share_hold hold;
    struct sh_quantity *share = &measures->quantity[SH_MEASURE_FINGER_SHARE_FIRST];
    struct sh_quantity *change = &measures->quantity[SH_MEASURE_FINGER_SHARE_CHANGE_FIRST];
    struct sh_quantity *slide = &measures->quantity[SH_MEASURE_FINGER_SLIDE_FIRST];
    const enum sh_why why = make_series(scene, net, &hold);
    if (why != SH_WHY_KNOWN) {
        for (size_t k = 0; k < FINGERS; k++) {
            share[k] = sh_quantity_unknown(why);
            change[k] = sh_quantity_unknown(why);
        }
        *slide = sh_quantity_unknown(why);
        return;
    }
    const struct share_window whole = get_window(&hold, 0, hold.span.n);
    for (size_t k = 0; k < FINGERS; k++) {
        share[k] = sh_quantity_known(whole.share[k], get_share_u(&hold, &whole, k));
    }
    measure_change(&hold, measures);
    *slide = find_slide(&hold, &change[RING]);
}
