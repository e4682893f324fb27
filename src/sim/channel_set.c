/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sim/channel_set.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "metrology/crosstalk.h"

#define ANCHOR_PERIOD_S 10.0
#define ANCHOR_U_S      2e-4
#define CALIBRATED      "2026-05-01"
#define THIN_MAX_N      150.0 /* as far as the curve reaches */
#define THIN_STEPS      58u
#define THIN_EDGE       4.0                        /* counts over which the dead zone ends */
#define RECTANGLE       (1.0 / 3.4641016151377544) /* standard uncertainty of a width */

enum sensor {
    SENSOR_FORCE80,
    SENSOR_FORCE,
    SENSOR_CONTACT,
    SENSOR_FINGERS,
    SENSOR_THIN,
    SENSOR_BOW,
    SENSOR_MIC
};

struct set {
    const char *name;
    size_t n_sensors;
    enum sensor sensor[SH_CHANNEL_SET_STREAMS_MAX];
};

static const struct set sets[] = {
    {"force80", 1, {SENSOR_FORCE80}},
    {"force1000", 1, {SENSOR_FORCE}},
    {"bow", 1, {SENSOR_BOW}},
    {"force_bow", 2, {SENSOR_FORCE, SENSOR_BOW}},
    {"fingers", 1, {SENSOR_FINGERS}},
    {"fingers_bow", 2, {SENSOR_FINGERS, SENSOR_BOW}},
    {"thin_fingers", 1, {SENSOR_THIN}},
    {"thin_force", 2, {SENSOR_CONTACT, SENSOR_THIN}},
    {"contact", 1, {SENSOR_CONTACT}},
    {"sound", 2, {SENSOR_FORCE, SENSOR_MIC}},
    {"force_fingers_bow", 3, {SENSOR_FORCE, SENSOR_FINGERS, SENSOR_BOW}},
    {"all", 4, {SENSOR_CONTACT, SENSOR_FINGERS, SENSOR_BOW, SENSOR_MIC}},
};

#define N_SETS (sizeof sets / sizeof sets[0])

static void set_text(char *to, size_t n_bytes, const char *text)
{
    (void)snprintf(to, n_bytes, "%s", text);
}

/* Appends a channel and returns it for what is its own. */
static struct sh_channel *add_channel(struct sh_stream_source_config *config,
                                      enum sh_role role,
                                      const char *unit,
                                      double scale,
                                      double noise)
{
    struct sh_channel *channel = &config->stream.channel[config->stream.n_channels++];
    *channel = (struct sh_channel){.role = role, .scale = scale, .noise = noise};
    set_text(channel->unit, sizeof channel->unit, unit);
    return channel;
}

static void set_range(struct sh_channel *channel, double low, double high)
{
    channel->has_range = true;
    channel->range_low = low;
    channel->range_high = high;
}

static void start_stream(struct sh_stream_source_config *config,
                         const char *name,
                         double rate_hz,
                         double ppm)
{
    memset(config, 0, sizeof *config);
    set_text(config->stream.name, sizeof config->stream.name, name);
    config->stream.rate_hz = rate_hz;
    config->stream.offset_u_s = ANCHOR_U_S;
    config->clock_ppm = ppm;
    config->anchor_period_s = ANCHOR_PERIOD_S;
    config->anchor_u_s = ANCHOR_U_S;
}

static void set_calibration(struct sh_channel *channel, double zero, double scale_u)
{
    set_text(channel->calibrated, sizeof channel->calibrated, CALIBRATED);
    channel->zero = zero;
    channel->zero_u = 0.02 / channel->scale; /* 0.02 N */
    channel->scale_u = scale_u;
}

static void set_force80(struct sh_stream_source_config *config)
{
    start_stream(config, "string", 80.0, 40.0);
    struct sh_channel *channel = add_channel(config, SH_ROLE_STRING_FORCE, "N", 5e-5, 0.1);
    set_calibration(channel, 120000.0, 1.6e-7);
    set_range(channel, -8388608.0, 8388607.0);
    config->boxcar_s = 0.0125;
    channel->delay_s = 0.5 * config->boxcar_s;
    channel->delay_u_s = 5e-4;
}

static void set_force(struct sh_stream_source_config *config)
{
    start_stream(config, "string", 1000.0, 35.0);
    struct sh_channel *channel = add_channel(config, SH_ROLE_STRING_FORCE, "N", 0.0125, 0.1);
    set_calibration(channel, 812.0, 4e-5);
    set_range(channel, -32768.0, 32767.0);
    config->boxcar_s = 0.001;
    channel->delay_s = 0.5 * config->boxcar_s;
    channel->delay_u_s = 2e-4;
}

static void set_contact(struct sh_stream_source_config *config)
{
    set_force(config);
    struct sh_channel *channel = add_channel(config, SH_ROLE_CLICKER_CONTACT, "1", 1.0, 0.0);
    set_range(channel, -1.0, 2.0); /* a contact never clips */
    channel->delay_s = config->stream.channel[0].delay_s;
    channel->delay_u_s = 2e-4;
}

static void set_fingers(struct sh_stream_source_config *config)
{
    static const enum sh_finger fingers[] = {SH_FINGER_INDEX, SH_FINGER_MIDDLE, SH_FINGER_RING};
    start_stream(config, "fingers", 1000.0, -20.0);
    config->boxcar_s = 0.001;
    for (size_t i = 0; i < 3; i++) {
        struct sh_channel *channel = add_channel(config, SH_ROLE_FINGER_FORCE, "N", 0.04, 0.1);
        set_calibration(channel, 100.0 + 7.0 * (double)i, 4e-4);
        set_range(channel, 0.0, 4095.0);
        channel->finger = fingers[i];
        channel->delay_s = 0.5 * config->boxcar_s;
        channel->delay_u_s = 2e-4;
    }
}

/* A thin sensor: counts rise from zero by gain (F - start) / (half + F - start). */
struct thin {
    double zero;
    double gain;
    double start_n;
    double half_n;
    double drift_ratio;
    double drift_s;
};

static const struct thin thins[] = {{84.0, 3600.0, 0.20, 70.0, 0.05, 2.4},
                                    {71.0, 3500.0, 0.35, 80.0, 0.03, 3.5},
                                    {92.0, 3700.0, 0.25, 60.0, 0.04, 1.7}};

/* The curve as a calibration writes it: flat below zero, a step over the dead zone, then the
 * bend, evenly in counts. */
static void fill_curve(const struct thin *thin, struct sh_channel *channel)
{
    const double end = thin->gain * THIN_MAX_N / (thin->half_n + THIN_MAX_N);
    const double asleep_u_n = thin->start_n * RECTANGLE;
    struct sh_curve_point *point = channel->curve;
    point[0] = (struct sh_curve_point){thin->zero - end, -0.001 * THIN_MAX_N, asleep_u_n};
    point[1] = (struct sh_curve_point){thin->zero, 0.0, asleep_u_n};
    for (size_t i = 0; i <= THIN_STEPS; i++) {
        const double part = fmax(THIN_EDGE / end, (double)i / (double)THIN_STEPS);
        const double counts = part * end;
        const double force_n = thin->start_n + thin->half_n * counts / (thin->gain - counts);
        const double u_n = SH_CHANNEL_SET_THIN_U_RATIO * force_n;
        point[2 + i] = (struct sh_curve_point){thin->zero + counts, force_n,
                                               i == 0 ? hypot(u_n, asleep_u_n) : u_n};
    }
    channel->n_curve = THIN_STEPS + 3u;
}

static void set_thin(struct sh_stream_source_config *config)
{
    static const enum sh_finger fingers[] = {SH_FINGER_INDEX, SH_FINGER_MIDDLE, SH_FINGER_RING};
    double share[SH_STREAM_CHANNELS_MAX][SH_STREAM_CHANNELS_MAX] = {
        {1.0, 0.03, 0.01}, {0.03, 1.0, 0.04}, {0.01, 0.02, 1.0}};
    start_stream(config, "fingers", 1000.0, -20.0);
    config->boxcar_s = 0.001;
    config->noise_counts = 2.0;
    config->crosstalk_u = 0.002;
    config->load_drift_u_ratio = 0.1;
    for (size_t i = 0; i < 3; i++) {
        struct sh_channel *channel = add_channel(config, SH_ROLE_FINGER_FORCE, "N", 1.0, 0.0);
        set_text(channel->calibrated, sizeof channel->calibrated, CALIBRATED);
        set_range(channel, 0.0, 4095.0);
        channel->finger = fingers[i];
        channel->delay_s = 0.5 * config->boxcar_s;
        channel->delay_u_s = 2e-4;
        channel->load_drift_ratio = thins[i].drift_ratio;
        channel->load_drift_time_s = thins[i].drift_s;
        fill_curve(&thins[i], channel);
    }
    config->stream.has_crosstalk = true;
    /* shares this near to 1 are never singular */
    (void)sh_crosstalk_invert(3, share, config->stream.crosstalk);
}

static void set_bow(struct sh_stream_source_config *config)
{
    static const enum sh_axis axes[] = {SH_AXIS_X, SH_AXIS_Y, SH_AXIS_Z};
    start_stream(config, "bow", 3200.0, 60.0);
    config->stream.offset_s = 0.0031;
    for (size_t i = 0; i < 3; i++) {
        struct sh_channel *channel =
            add_channel(config, SH_ROLE_BOW_ACCELERATION, "m/s2", 0.0383, 0.3);
        set_range(channel, -4096.0, 4095.0);
        channel->axis = axes[i];
        channel->scale_u = 2e-4;
        channel->delay_u_s = 1e-4;
    }
}

static void set_mic(struct sh_stream_source_config *config)
{
    start_stream(config, "sound", 10000.0, -55.0);
    config->stream.offset_s = 0.0012;
    struct sh_channel *channel = add_channel(config, SH_ROLE_SOUND, "Pa", 0.0005, 0.01);
    set_range(channel, -32768.0, 32767.0);
    channel->delay_u_s = 1e-4;
}

static void set_sensor(enum sensor sensor, struct sh_stream_source_config *config)
{
    switch (sensor) {
    case SENSOR_FORCE80:
        set_force80(config);
        break;
    case SENSOR_FORCE:
        set_force(config);
        break;
    case SENSOR_CONTACT:
        set_contact(config);
        break;
    case SENSOR_FINGERS:
        set_fingers(config);
        break;
    case SENSOR_THIN:
        set_thin(config);
        break;
    case SENSOR_BOW:
        set_bow(config);
        break;
    case SENSOR_MIC:
        set_mic(config);
        break;
    }
}

static enum sh_status refuse_name(const char *name, struct sh_error *err)
{
    char names[SH_ERROR_TODO_BYTES] = "choose one of";
    size_t n_bytes = strlen(names);
    for (size_t i = 0; i < N_SETS && n_bytes < sizeof names; i++) {
        const int n = snprintf(names + n_bytes, sizeof names - n_bytes, " %s", sets[i].name);
        n_bytes += n > 0 ? (size_t)n : 0;
    }
    return sh_error_set(err, SH_ERR_NOT_FOUND, name, names, "no set of channels of this name");
}

enum sh_status
sh_channel_set_find(const char *name,
                    struct sh_stream_source_config stream[SH_CHANNEL_SET_STREAMS_MAX],
                    size_t *n_streams,
                    struct sh_error *err)
{
    size_t k = 0;
    while (k < N_SETS && strcmp(sets[k].name, name) != 0) {
        k++;
    }
    if (k == N_SETS) {
        return refuse_name(name, err);
    }
    *n_streams = sets[k].n_sensors;
    for (size_t i = 0; i < sets[k].n_sensors; i++) {
        set_sensor(sets[k].sensor[i], &stream[i]);
    }
    return SH_OK;
}

const char *sh_channel_set_get_name(size_t index)
{
    return index < N_SETS ? sets[index].name : NULL;
}
