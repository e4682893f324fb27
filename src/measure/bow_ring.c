/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "measure/bow_ring.h"

#include <math.h>

#include "signal/band_limited.h"
#include "signal/hand_arm.h"
#include "signal/stats.h"

#define GRAVITY_FROM_S   0.55 /* before the release */
#define GRAVITY_UNTIL_S  0.05
#define PEAK_SPAN_S      0.1
#define SHOCK_SPAN_S     0.025
#define RING_AFTER_S     0.02
#define RING_SPAN_S      0.25
#define RING_SAMPLES_MIN 96u
#define HAND_SPAN_S      1.0
#define HAND_AXES        3u
#define WEIGHTING_U      0.0018 /* 0.31 %, the gain against the standard's table, / sqrt 3 */
#define NEAR_RATIO       0.7 /* of the largest sample: a frame below it has no peak beside it */
#define STEPS_A_FRAME    8.0
#define BETWEEN_U_RATIO  0.2   /* of what lies above the samples */
#define RING_RATIO       1.15  /* what other modes leave in the ring; seen in simulation */
#define BAND_U_RATIO     0.025 /* what a blow has above half the rate; seen in simulation */

/* The bow's axes and the moment of the release. */
struct bow_axes {
    const struct sh_shot_stream *stream;
    size_t n;
    size_t channel[SH_STREAM_CHANNELS_MAX];
    double gravity_m_s2[SH_STREAM_CHANNELS_MAX]; /* by axis */
    double delay_s;
    double release_s;
};

static struct sh_span get_span(const struct bow_axes *axes, double from_s, double until_s)
{
    return sh_span_find(axes->stream, axes->delay_s, axes->release_s + from_s,
                        axes->release_s + until_s);
}

static enum sh_why find_axes(const struct sh_scene *scene, struct bow_axes *axes)
{
    size_t stream = 0;
    size_t first = 0;
    const struct sh_quantity release = sh_scene_event(scene, SH_EVENT_RELEASE);
    if (!sh_shot_view_find(scene->view, SH_ROLE_BOW_ACCELERATION, SH_AXIS_NONE, SH_FINGER_NONE,
                           &stream, &first)) {
        return SH_WHY_NO_CHANNEL;
    }
    if (!sh_quantity_is_known(&release)) {
        return release.why;
    }
    const struct sh_shot_stream *view = &scene->view->stream[stream];
    *axes = (struct bow_axes){.stream = view,
                              .delay_s = view->stream->channel[first].delay_s,
                              .release_s = release.value};
    for (size_t c = first; c < view->stream->n_channels; c++) {
        if (view->stream->channel[c].role == SH_ROLE_BOW_ACCELERATION) {
            axes->channel[axes->n++] = c;
        }
    }
    return SH_WHY_KNOWN;
}

static enum sh_why find_gravity(struct bow_axes *axes)
{
    const struct sh_span span = get_span(axes, -GRAVITY_FROM_S, -GRAVITY_UNTIL_S);
    if (!sh_span_is_usable(&span)) {
        return span.why;
    }
    for (size_t k = 0; k < axes->n; k++) {
        const double *value = axes->stream->value[axes->channel[k]] + span.first;
        if (sh_stats_get_mean(value, span.n, &axes->gravity_m_s2[k], NULL) != SH_OK) {
            return SH_WHY_UNRESOLVED;
        }
    }
    return SH_WHY_KNOWN;
}

static double get_axis(const struct bow_axes *axes, size_t k, size_t frame)
{
    return axes->stream->value[axes->channel[k]][frame] - axes->gravity_m_s2[k];
}

static double get_magnitude(const struct bow_axes *axes, size_t frame)
{
    double sum = 0.0;
    for (size_t k = 0; k < axes->n; k++) {
        const double a = get_axis(axes, k, frame);
        sum += a * a;
    }
    return sqrt(sum);
}

static size_t find_largest(const struct bow_axes *axes, const struct sh_span *span)
{
    size_t largest = span->first;
    double most = get_magnitude(axes, largest);
    for (size_t i = span->first + 1u; i < span->first + span->n; i++) {
        const double magnitude = get_magnitude(axes, i);
        if (magnitude > most) {
            most = magnitude;
            largest = i;
        }
    }
    return largest;
}

/* Calibration and stated noise of the magnitude at a frame. */
static double get_magnitude_u(const struct bow_axes *axes, size_t frame)
{
    const double magnitude = fmax(get_magnitude(axes, frame), 1e-9);
    double sum = 0.0;
    for (size_t k = 0; k < axes->n; k++) {
        const struct sh_channel *channel = &axes->stream->stream->channel[axes->channel[k]];
        const double a = get_axis(axes, k, frame);
        const double u = hypot(a * sh_scene_get_channel_u_ratio(channel, a), channel->noise);
        sum += (a / magnitude * u) * (a / magnitude * u);
    }
    return sqrt(sum);
}

/* Magnitude between frames. */
static double get_magnitude_between(const struct bow_axes *axes, double index)
{
    double sum = 0.0;
    for (size_t k = 0; k < axes->n; k++) {
        const double *value = axes->stream->value[axes->channel[k]];
        const double a =
            sh_band_limited_get(value, axes->stream->n_frames, index) - axes->gravity_m_s2[k];
        sum += a * a;
    }
    return sqrt(sum);
}

/* A frame of at least near that neither neighbour exceeds, of the span or beyond it. */
static bool is_summit(const struct bow_axes *axes, size_t frame, double near)
{
    const double here = get_magnitude(axes, frame);
    const size_t last = axes->stream->n_frames - 1u;
    return here > 0.0 && here >= near &&
           (frame == 0 || get_magnitude(axes, frame - 1u) <= here) &&
           (frame == last || get_magnitude(axes, frame + 1u) <= here);
}

/* The largest magnitude about those summits of the span that come near the largest of all. */
static double
find_peak_between(const struct bow_axes *axes, const struct sh_span *span, size_t at)
{
    double most = get_magnitude(axes, at);
    const double near = NEAR_RATIO * most;
    for (size_t i = span->first; i < span->first + span->n; i++) {
        if (!is_summit(axes, i, near)) {
            continue;
        }
        for (int k = 1 - (int)STEPS_A_FRAME; k < (int)STEPS_A_FRAME; k++) {
            const double index = (double)i + (double)k / STEPS_A_FRAME;
            most = fmax(most, get_magnitude_between(axes, index));
        }
    }
    return most;
}

static void measure_peak(const struct bow_axes *axes, struct sh_measures *measures)
{
    struct sh_quantity *peak = &measures->quantity[SH_MEASURE_VIBRATION_PEAK_FIRST];
    const struct sh_span span = get_span(axes, 0.0, PEAK_SPAN_S);
    const bool is_clipped = span.why == SH_WHY_CLIPPED;
    if (!sh_span_is_usable(&span) && !is_clipped) {
        *peak = sh_quantity_unknown(span.why);
        return;
    }
    const size_t at = find_largest(axes, &span);
    *peak = sh_quantity_known(get_magnitude(axes, at), get_magnitude_u(axes, at));
    if (!is_clipped) {
        const double sample = peak->value;
        peak->value = find_peak_between(axes, &span, at);
        sh_scene_add_u(peak, BETWEEN_U_RATIO * (peak->value - sample));
        sh_scene_add_u(peak, BAND_U_RATIO * peak->value);
    }
    measures->vibration_clipped = is_clipped ? SH_ANSWER_YES : SH_ANSWER_NO;
}

/* One axis of a span less its mean there, into x. */
static bool
copy_axis(const struct bow_axes *axes, const struct sh_span *span, size_t k, double *x)
{
    double mean = 0.0;
    const double *value = axes->stream->value[axes->channel[k]] + span->first;
    if (sh_stats_get_mean(value, span->n, &mean, NULL) != SH_OK) {
        return false;
    }
    for (size_t i = 0; i < span->n; i++) {
        x[i] = value[i] - mean;
    }
    return true;
}

static bool is_ringing(const struct sh_ringing_mode *mode)
{
    const double damping_hi = mode->damping.value + 2.0 * mode->damping.u;
    return mode->frequency_hz.value >= SH_BOW_RING_LOW_HZ && damping_hi > 0.0;
}

/* Takes the largest ringing mode of modes into *out, where it is larger than that. */
static void take_larger(const struct sh_ringing_result *modes, struct sh_ringing_mode *out)
{
    for (size_t i = 0; i < modes->n_modes; i++) {
        const struct sh_ringing_mode *mode = &modes->mode[i];
        if (is_ringing(mode) && mode->amplitude.value > out->amplitude.value) {
            *out = *mode;
        }
    }
}

/* The largest ringing mode of all axes over the span; false where there is none. */
/* Frames a second by the recording's clock, less unlike the nominal one where it steps. */
static double get_clock_rate(const struct bow_axes *axes, const struct sh_span *span)
{
    const double nominal_hz = axes->stream->stream->rate_hz;
    const size_t at[2] = {span->first, span->first + span->n / 2u};
    double rate_hz = 0.0;
    for (size_t i = 0; i < 2 && span->n > 2u; i++) {
        const double *time_s = axes->stream->time_s + at[i];
        const double here_hz = 1.0 / (time_s[1] - time_s[0]);
        rate_hz = fabs(here_hz - nominal_hz) < fabs(rate_hz - nominal_hz) ? here_hz : rate_hz;
    }
    return rate_hz > 0.0 ? rate_hz : nominal_hz;
}

/* Relative standard uncertainty of that rate. */
static double get_clock_u_ratio(const struct bow_axes *axes, const struct sh_span *span)
{
    const struct sh_shot_stream *stream = axes->stream;
    if (stream->timebase == NULL || span->n < 2u) {
        return 0.0;
    }
    const double first = (double)(stream->first_frame + span->first);
    const double n = (double)(span->n - 1u);
    return sh_timebase_get_difference_u_s(stream->timebase, stream->reading, first, first + n) *
           stream->stream->rate_hz / n;
}

static bool find_mode(const struct sh_scene *scene,
                      const struct bow_axes *axes,
                      const struct sh_span *span,
                      struct sh_ringing_mode *out)
{
    double *x = scene->workspace->scratch[0];
    const double rate_hz = get_clock_rate(axes, span);
    *out = (struct sh_ringing_mode){.amplitude = sh_quantity_known(0.0, 0.0)};
    for (size_t k = 0; k < axes->n; k++) {
        struct sh_ringing_result modes;
        if (copy_axis(axes, span, k, x) &&
            sh_ringing_run(scene->workspace->ringing, x, span->n, rate_hz, &modes) == SH_OK) {
            take_larger(&modes, out);
        }
    }
    out->frequency_hz.u *= RING_RATIO;
    out->damping.u *= RING_RATIO;
    sh_scene_add_u(&out->frequency_hz, get_clock_u_ratio(axes, span) * out->frequency_hz.value);
    return out->amplitude.value > 0.0;
}

static enum sh_why find_ring(const struct sh_scene *scene,
                             const struct bow_axes *axes,
                             struct sh_ringing_mode *mode)
{
    const double rate_hz = axes->stream->stream->rate_hz;
    if (rate_hz < SH_BOW_RING_RATE_MIN_HZ) {
        return SH_WHY_TOO_SLOW;
    }
    const struct sh_span near = get_span(axes, 0.0, SHOCK_SPAN_S);
    if (!sh_span_is_usable(&near) && near.why != SH_WHY_CLIPPED) {
        return near.why;
    }
    const double shock_s =
        sh_shot_stream_time(axes->stream, axes->delay_s, (double)find_largest(axes, &near));
    const double from_s = shock_s + RING_AFTER_S - axes->release_s;
    const double length_s = fmax(RING_SPAN_S, (RING_SAMPLES_MIN + 1u) / rate_hz);
    const double longest_s = SH_WORKSPACE_RING_MAX / rate_hz;
    struct sh_span span = get_span(axes, from_s, from_s + fmin(length_s, longest_s));
    if (!sh_span_is_usable(&span)) {
        return span.why;
    }
    return find_mode(scene, axes, &span, mode) ? SH_WHY_KNOWN : SH_WHY_NOT_SEEN;
}

static void measure_ring(const struct sh_scene *scene,
                         const struct bow_axes *axes,
                         struct sh_measures *measures)
{
    struct sh_ringing_mode mode;
    const enum sh_why why = find_ring(scene, axes, &mode);
    const bool is_known = why == SH_WHY_KNOWN;
    measures->quantity[SH_MEASURE_RING_FIRST] =
        is_known ? mode.frequency_hz : sh_quantity_unknown(why);
    measures->quantity[SH_MEASURE_RING_DAMPING_FIRST] =
        is_known ? mode.damping : sh_quantity_unknown(why);
}

static struct sh_quantity measure_hand(const struct sh_scene *scene,
                                       const struct bow_axes *axes)
{
    const double rate_hz = axes->stream->stream->rate_hz;
    if (axes->n < HAND_AXES) {
        return sh_quantity_unknown(SH_WHY_NO_CHANNEL);
    }
    if (rate_hz < SH_HAND_ARM_RATE_MIN_HZ) {
        return sh_quantity_unknown(SH_WHY_TOO_SLOW);
    }
    const struct sh_span span = get_span(axes, 0.0, HAND_SPAN_S);
    if (!sh_span_is_usable(&span)) {
        return sh_quantity_unknown(span.why);
    }
    double *x = scene->workspace->scratch[0];
    double sum = 0.0;
    double calibration = 0.0;
    if (span.n > scene->workspace->n_scratch) {
        return sh_quantity_unknown(SH_WHY_UNRESOLVED);
    }
    for (size_t k = 0; k < axes->n; k++) {
        const struct sh_channel *channel = &axes->stream->stream->channel[axes->channel[k]];
        double rms = 0.0;
        for (size_t i = 0; i < span.n; i++) {
            x[i] = get_axis(axes, k, span.first + i);
        }
        if (sh_hand_arm_get_rms(scene->workspace->hand_arm, x, span.n, rate_hz, &rms) !=
            SH_OK) {
            return sh_quantity_unknown(SH_WHY_UNRESOLVED);
        }
        sum += rms * rms;
        calibration =
            hypot(calibration, rms * rms * sh_scene_get_channel_u_ratio(channel, rms));
    }
    struct sh_quantity total = sh_quantity_known(sqrt(sum), sqrt(sum) * WEIGHTING_U);
    if (sum > 0.0) {
        sh_scene_add_u(&total, calibration / total.value);
    }
    return total;
}

void sh_bow_ring_measure(const struct sh_scene *scene, struct sh_measures *measures)
{
    struct bow_axes axes;
    enum sh_why why = find_axes(scene, &axes);
    measures->vibration_clipped = SH_ANSWER_UNKNOWN;
    if (why == SH_WHY_KNOWN) {
        why = find_gravity(&axes);
    }
    if (why != SH_WHY_KNOWN) {
        measures->quantity[SH_MEASURE_RING_FIRST] = sh_quantity_unknown(why);
        measures->quantity[SH_MEASURE_RING_DAMPING_FIRST] = sh_quantity_unknown(why);
        measures->quantity[SH_MEASURE_VIBRATION_PEAK_FIRST] = sh_quantity_unknown(why);
        measures->quantity[SH_MEASURE_HAND_VIBRATION_FIRST] = sh_quantity_unknown(why);
        return;
    }
    measure_peak(&axes, measures);
    measure_ring(scene, &axes, measures);
    measures->quantity[SH_MEASURE_HAND_VIBRATION_FIRST] = measure_hand(scene, &axes);
}
