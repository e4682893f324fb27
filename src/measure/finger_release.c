/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "measure/finger_release.h"

#include <math.h>

#include "signal/step_fit.h"

#define REACH_S        0.2 /* to both sides of the release */
#define START_S        0.1 /* the fall begins within that of the release */
#define DURATION_MIN_S 0.001
#define DURATION_MAX_S 0.1
#define HALF           0.5
#define RATE_MAX_HZ    1000.0

/* Means over n_block samples into scratch[1]; their number. */
static size_t make_blocks(const struct sh_scene *scene,
                          const struct sh_finger_channel *finger,
                          const struct sh_span *span,
                          size_t n_block)
{
    double *const *scratch = scene->workspace->scratch;
    const size_t n = span->n / n_block;
    sh_finger_net_copy(finger, span, scratch[0]);
    for (size_t i = 0; i < n; i++) {
        double sum_n = 0.0;
        for (size_t k = 0; k < n_block; k++) {
            sum_n += scratch[0][i * n_block + k];
        }
        scratch[1][i] = sum_n / (double)n_block;
    }
    return n;
}

static enum sh_why get_fit_why(enum sh_status status)
{
    switch ((int)status) {
    case SH_OK:
        return SH_WHY_KNOWN;
    case SH_ERR_SINGULAR:
        return SH_WHY_NOT_SEEN;
    case SH_ERR_SHORT:
        return SH_WHY_TOO_SLOW;
    default:
        return SH_WHY_UNRESOLVED;
    }
}

static void shift(struct sh_quantity *time, double by_s)
{
    time->value += by_s;
    time->lo += by_s;
    time->hi += by_s;
}

/* Half-fall of one finger on the recording's clock; u and interval are the fit's alone. */
static struct sh_quantity find_half_fall(const struct sh_scene *scene,
                                         const struct sh_finger_channel *finger,
                                         double release_s)
{
    struct sh_step_fit fit;
    struct sh_step_fit_config config = sh_step_fit_config_default();
    const struct sh_span span =
        sh_finger_net_span(scene, finger, release_s - REACH_S, release_s + REACH_S);
    if (!sh_span_is_usable(&span)) {
        return sh_quantity_unknown(span.why);
    }
    const struct sh_shot_stream *stream = &scene->view->stream[finger->stream];
    const double rate_hz = stream->stream->rate_hz;
    const size_t n_block = (size_t)fmax(ceil(rate_hz / RATE_MAX_HZ), 1.0);
    const size_t n = make_blocks(scene, finger, &span, n_block);
    config.rate_hz = rate_hz / (double)n_block;
    config.boxcar_s = n_block > 1u ? 1.0 / config.rate_hz : 0.0;
    config.fraction = HALF;
    config.duration_min_s = DURATION_MIN_S;
    config.duration_max_s = DURATION_MAX_S;
    config.start_min_s = REACH_S - START_S;
    config.start_max_s = REACH_S + START_S;
    config.noise = finger->noise_n / sqrt((double)n_block);
    const enum sh_why why =
        get_fit_why(sh_step_fit_run(&config, scene->workspace->scratch[1], n, &fit));
    if (why != SH_WHY_KNOWN || !(fit.drop.value > 0.0)) {
        return sh_quantity_unknown(why != SH_WHY_KNOWN ? why : SH_WHY_NOT_SEEN);
    }
    /* A block's mean stands for the time up to half a sample behind its last one. */
    const double behind = n_block > 1u ? (double)n_block - 0.5 : 0.0;
    const double first_s =
        sh_shot_stream_time(stream, finger->channel->delay_s, (double)span.first + behind);
    shift(&fit.time_s, first_s);
    return fit.time_s;
}

static struct sh_quantity get_spread(const struct sh_quantity fall[SH_FINGER_NET_COUNT])
{
    size_t first = 0;
    size_t last = 0;
    for (size_t k = 0; k < SH_FINGER_NET_COUNT; k++) {
        if (!sh_quantity_is_known(&fall[k])) {
            return sh_quantity_unknown(fall[k].why);
        }
        first = fall[k].value < fall[first].value ? k : first;
        last = fall[k].value > fall[last].value ? k : last;
    }
    return sh_scene_difference(&fall[last], &fall[first]);
}

void sh_finger_release_measure(const struct sh_scene *scene,
                               const struct sh_finger_net *net,
                               struct sh_measures *measures)
{
    struct sh_quantity fall[SH_FINGER_NET_COUNT];
    const struct sh_quantity release = sh_scene_event_in_force(scene, SH_EVENT_RELEASE);
    for (size_t k = 0; k < SH_FINGER_NET_COUNT; k++) {
        const struct sh_finger_channel *finger = &net->finger[k];
        fall[k] = sh_quantity_is_known(&release) ? find_half_fall(scene, finger, release.value)
                                                 : sh_quantity_unknown(release.why);
        struct sh_quantity relative = sh_scene_difference(&fall[k], &release);
        const bool is_apart =
            scene->view->force.is_present && finger->stream != scene->view->force.stream;
        if (sh_quantity_is_known(&relative) && is_apart) {
            const struct sh_shot_force *force = &scene->view->force;
            sh_scene_add_u(&relative, hypot(finger->channel->delay_u_s, force->delay_u_s));
            sh_scene_add_u(&relative, hypot(scene->view->stream[finger->stream].time_u_s,
                                            force->time_u_s));
        }
        measures->quantity[SH_MEASURE_FINGER_RELEASE_FIRST + k] = relative;
    }
    measures->quantity[SH_MEASURE_FINGER_RELEASE_SPREAD_FIRST] = get_spread(fall);
}
