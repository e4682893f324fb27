/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sim/stream_source.h"

#include <math.h>
#include <stdbool.h>
#include <string.h>

#include "metrology/crosstalk.h"
#include "sim/range.h"
#include "sim/session_signal.h"
#include "sim/unscale.h"

#define STEP_S            0.00025 /* between the points that a boxcar's mean is made of */
#define FINGER_ZERO_RATIO 0.3     /* of the string's drifting zero, in each finger's sensor */

static bool is_monotone(const struct sh_channel *channel)
{
    const struct sh_curve_point *point = channel->curve;
    const bool is_rising = channel->n_curve > 1 && point[1].value > point[0].value;
    for (size_t i = 1; i < channel->n_curve; i++) {
        const double rise = point[i].value - point[i - 1].value;
        if (point[i].counts <= point[i - 1].counts || (is_rising ? rise <= 0.0 : rise >= 0.0)) {
            return false;
        }
    }
    return channel->n_curve != 1 && channel->n_curve <= SH_CHANNEL_CURVE_MAX;
}

/* Which part of a session's sample a channel reads; 0 where its finger or axis is missing. */
static unsigned find_part(const struct sh_channel *channel)
{
    switch (channel->role) {
    case SH_ROLE_STRING_FORCE:
        return SH_SESSION_PART_STRING;
    case SH_ROLE_FINGER_FORCE:
        return channel->finger == SH_FINGER_NONE ? 0u : (unsigned)SH_SESSION_PART_FINGERS;
    case SH_ROLE_BOW_ACCELERATION:
        return channel->axis == SH_AXIS_NONE ? 0u : (unsigned)SH_SESSION_PART_ACCELERATION;
    case SH_ROLE_CLICKER_CONTACT:
        return SH_SESSION_PART_CONTACT;
    case SH_ROLE_SOUND:
        return SH_SESSION_PART_SOUND;
    }
    return 0;
}

static enum sh_status check_channel(const struct sh_channel *channel, struct sh_error *err)
{
    const bool has_scale =
        channel->is_physical || channel->n_curve > 0 || fabs(channel->scale) > 0.0;
    if (find_part(channel) == 0) {
        return sh_error_set(err, SH_ERR_ARGUMENT, "channel", "name its finger or axis",
                            "a simulated channel has no known place");
    }
    if (!has_scale || !is_monotone(channel)) {
        return sh_error_set(err, SH_ERR_ARGUMENT, "channel", "give a scale or a rising curve",
                            "a simulated channel cannot be turned into counts");
    }
    const struct sh_range range[] = {
        {"noise", channel->noise, 0.0, 1e6},
        {"delay_s", channel->delay_s, -1.0, 1.0},
    };
    return sh_range_check(range, sizeof range / sizeof range[0], err);
}

static enum sh_status check_config(const struct sh_stream_source_config *config,
                                   struct sh_error *err)
{
    const struct sh_range range[] = {
        {"rate_hz", config->stream.rate_hz, 1.0, 20000.0},
        {"n_channels", (double)config->stream.n_channels, 1.0, SH_STREAM_CHANNELS_MAX},
        {"offset_s", config->stream.offset_s, -3600.0, 3600.0},
        {"clock_ppm", config->clock_ppm, -1000.0, 1000.0},
        {"offset_error_s", config->offset_error_s, -1.0, 1.0},
        {"boxcar_s", config->boxcar_s, 0.0, 0.2},
        {"anchor_period_s", config->anchor_period_s, 0.0, 3600.0},
        {"anchor_u_s", config->anchor_u_s, 0.0, 0.01},
        {"lost_per_h", config->lost_per_h, 0.0, 3600.0},
        {"lost_frames_max", (double)config->lost_frames_max, config->lost_per_h > 0.0 ? 1.0 : 0,
         1e6},
        {"noise_counts", config->noise_counts, 0.0, 1e6},
    };
    enum sh_status status = sh_range_check(range, sizeof range / sizeof range[0], err);
    if (status != SH_OK) {
        return status;
    }
    for (size_t i = 0; i < config->stream.n_channels && status == SH_OK; i++) {
        status = check_channel(&config->stream.channel[i], err);
    }
    return status;
}

/* Channels join the group before them where they lag alike to the last bit. */
static void group_channels(struct sh_stream_source *source)
{
    const struct sh_stream *stream = &source->config.stream;
    for (size_t i = 0; i < stream->n_channels; i++) {
        const double delay_s = stream->channel[i].delay_s;
        struct sh_stream_source_group *last = &source->group[source->n_groups];
        if (i > 0 && !(fabs(delay_s - last[-1].delay_s) > 0.0)) {
            last--;
        } else {
            *last = (struct sh_stream_source_group){.first = i, .delay_s = delay_s};
            source->n_groups++;
        }
        last->n_channels++;
        last->parts |= find_part(&stream->channel[i]);
    }
}

enum sh_status sh_stream_source_init(struct sh_stream_source *source,
                                     const struct sh_session_plan *plan,
                                     const struct sh_stream_source_config *config,
                                     uint64_t seed,
                                     struct sh_error *err)
{
    const struct sh_stream *stream = &config->stream;
    double matrix[SH_STREAM_CHANNELS_MAX][SH_STREAM_CHANNELS_MAX];
    double share[SH_STREAM_CHANNELS_MAX][SH_STREAM_CHANNELS_MAX] = {{0}};
    const enum sh_status status = check_config(config, err);
    if (status != SH_OK) {
        return status;
    }
    memcpy(matrix, stream->crosstalk, sizeof matrix);
    if (stream->has_crosstalk &&
        sh_crosstalk_invert(stream->n_channels, matrix, share) != SH_OK) {
        return sh_error_set(err, SH_ERR_ARGUMENT, "crosstalk", "give a matrix near to 1",
                            "its channels cannot be told apart");
    }
    *source = (struct sh_stream_source){.plan = plan, .config = *config, .n_steps = 1};
    source->true_rate_hz = config->stream.rate_hz * (1.0 + 1e-6 * config->clock_ppm);
    if (config->boxcar_s > 0.0) {
        source->n_steps = (size_t)fmax(2.0, ceil(config->boxcar_s / STEP_S));
    }
    memcpy(source->share, share, sizeof share);
    sh_random_init(&source->random, seed);
    group_channels(source);
    return SH_OK;
}

double sh_stream_source_get_time_s(const struct sh_stream_source *source, uint64_t frame)
{
    const struct sh_stream_source_config *config = &source->config;
    return config->stream.offset_s + config->offset_error_s +
           (double)frame / source->true_rate_hz;
}

/* The mean of the signals over the boxcar about t_s, by its n_steps middles. */
static void average_signals(const struct sh_stream_source *source,
                            double t_s,
                            unsigned parts,
                            struct sh_session_sample *mean)
{
    const struct sh_session_draw *draw = sh_session_plan_find_draw(source->plan, t_s);
    const double n_steps = (double)source->n_steps;
    if (draw == NULL || source->n_steps == 1) {
        sh_session_signal_add(source->plan, draw, t_s, parts, mean);
        return;
    }
    struct sh_session_sample sum = {0};
    for (size_t k = 0; k < source->n_steps; k++) {
        const double off_s = source->config.boxcar_s * (((double)k + 0.5) / n_steps - 0.5);
        sh_session_signal_add(source->plan, draw, t_s + off_s, parts, &sum);
    }
    mean->string_n = sum.string_n / n_steps;
    mean->contact = sum.contact / n_steps;
    mean->sound_pa = sum.sound_pa / n_steps;
    for (size_t i = 0; i < 3; i++) {
        mean->finger_n[i] = sum.finger_n[i] / n_steps;
        mean->acceleration_m_s2[i] = sum.acceleration_m_s2[i] / n_steps;
    }
}

static double pick_value(const struct sh_channel *channel,
                         const struct sh_session_sample *sample,
                         double zero_n)
{
    switch (channel->role) {
    case SH_ROLE_STRING_FORCE:
        return sample->string_n + zero_n;
    case SH_ROLE_FINGER_FORCE:
        return sample->finger_n[channel->finger - SH_FINGER_INDEX] + FINGER_ZERO_RATIO * zero_n;
    case SH_ROLE_BOW_ACCELERATION:
        return sample->acceleration_m_s2[channel->axis - SH_AXIS_X];
    case SH_ROLE_CLICKER_CONTACT:
        return sample->contact;
    case SH_ROLE_SOUND:
        return sample->sound_pa;
    }
    return 0.0;
}

/* What the converter makes of a value: noise, steps, range. */
static double convert(const struct sh_stream_source_config *config,
                      const struct sh_channel *channel,
                      double value,
                      struct sh_random *random)
{
    if (channel->noise > 0.0) {
        value += channel->noise * sh_random_get_normal(random);
    }
    if (channel->role == SH_ROLE_FINGER_FORCE && channel->n_curve > 0) {
        value = fmax(value, 0.0);
    }
    double raw = sh_unscale_value(channel, value);
    if (config->noise_counts > 0.0) {
        raw += config->noise_counts * sh_random_get_normal(random);
    }
    if (!channel->is_physical) {
        raw = nearbyint(raw);
    }
    if (channel->has_range) {
        raw = fmin(channel->range_high, fmax(channel->range_low, raw));
    }
    return raw;
}

static void mix(struct sh_stream_source *source, double *value)
{
    const size_t n = source->config.stream.n_channels;
    double carried[SH_STREAM_CHANNELS_MAX];
    memcpy(carried, value, n * sizeof *value);
    for (size_t i = 0; i < n; i++) {
        value[i] = 0.0;
        for (size_t k = 0; k < n; k++) {
            value[i] += source->share[i][k] * carried[k];
        }
    }
}

/* What every element shows of the forces: its own, its neighbours', its load drift. */
static void show(struct sh_stream_source *source, uint64_t frame, double *value)
{
    const struct sh_stream *stream = &source->config.stream;
    const uint64_t n_since = frame > source->last_frame ? frame - source->last_frame : 1u;
    const double dt_s = (double)n_since / stream->rate_hz;
    if (stream->has_crosstalk) {
        mix(source, value);
    }
    for (size_t i = 0; i < stream->n_channels; i++) {
        const struct sh_channel *channel = &stream->channel[i];
        if (channel->load_drift_time_s > 0.0) {
            const double goal = channel->load_drift_ratio * value[i];
            value[i] += source->drift[i];
            source->drift[i] +=
                (goal - source->drift[i]) * -expm1(-dt_s / channel->load_drift_time_s);
        }
    }
    source->last_frame = frame;
}

void sh_stream_source_make(struct sh_stream_source *source, uint64_t frame, double *raw)
{
    const double frame_s = sh_stream_source_get_time_s(source, frame);
    for (size_t g = 0; g < source->n_groups; g++) {
        const struct sh_stream_source_group *group = &source->group[g];
        const unsigned forces =
            (unsigned)SH_SESSION_PART_STRING | (unsigned)SH_SESSION_PART_FINGERS;
        const double t_s = frame_s - group->delay_s;
        double zero_n = 0.0;
        struct sh_session_sample sample = {0};
        average_signals(source, t_s, group->parts, &sample);
        if ((group->parts & forces) != 0) {
            zero_n = sh_session_plan_get_zero_n(source->plan, t_s);
        }
        for (size_t i = group->first; i < group->first + group->n_channels; i++) {
            const struct sh_channel *channel = &source->config.stream.channel[i];
            raw[i] = pick_value(channel, &sample, zero_n);
        }
    }
    show(source, frame, raw);
    for (size_t i = 0; i < source->config.stream.n_channels; i++) {
        raw[i] = convert(&source->config, &source->config.stream.channel[i], raw[i],
                         &source->random);
    }
}
