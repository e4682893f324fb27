/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_METROLOGY_CHANNEL_H
#define SH_METROLOGY_CHANNEL_H

#include <stdbool.h>
#include <stddef.h>

/*
 * What a channel measures and how its counts become a physical value; a stream is the channels
 * that one clock samples together. Plain values, as written in recording.json and in sensor
 * profiles (docs/recording-format.md).
 */

enum sh_role {
    SH_ROLE_STRING_FORCE,     /* N, positive when the string is pulled back */
    SH_ROLE_FINGER_FORCE,     /* N, with finger */
    SH_ROLE_BOW_ACCELERATION, /* m/s2, with axis */
    SH_ROLE_CLICKER_CONTACT,  /* 1 while the strip rests on the arrow, 0 once it has fallen */
    SH_ROLE_SOUND             /* microphone, any unit */
};

enum sh_axis {
    SH_AXIS_NONE,
    SH_AXIS_X, /* along the shooting direction */
    SH_AXIS_Y, /* to the archer's left */
    SH_AXIS_Z  /* up */
};

enum sh_finger { SH_FINGER_NONE, SH_FINGER_INDEX, SH_FINGER_MIDDLE, SH_FINGER_RING };

#define SH_CHANNEL_UNIT_BYTES 16u
#define SH_CHANNEL_DATE_BYTES 11u /* "2026-05-01" */
#define SH_CHANNEL_CURVE_MAX  64u

/* One point of a monotone calibration curve, linear between points and beyond the last two. */
struct sh_curve_point {
    double counts;
    double value; /* in the channel's unit */
    double u;     /* standard uncertainty of value */
};

/*
 * value = (count - zero) * scale + quadratic * (count - zero)^2, or through curve where n_curve
 * is not 0. With is_physical (float audio samples) the samples are already values in the unit
 * and only the uncertainties count. *_u: standard uncertainties.
 */
struct sh_channel {
    enum sh_role role;
    enum sh_axis axis;
    enum sh_finger finger;
    char unit[SH_CHANNEL_UNIT_BYTES];
    char calibrated[SH_CHANNEL_DATE_BYTES]; /* date, or "" */
    bool is_physical;
    double scale;   /* unit per count */
    double scale_u; /* the same */
    double zero;    /* counts */
    double zero_u;
    double quadratic; /* unit per count^2 */
    double quadratic_u;
    struct sh_curve_point curve[SH_CHANNEL_CURVE_MAX];
    size_t n_curve; /* 0, or 2 to SH_CHANNEL_CURVE_MAX */
    double delay_s; /* the sensor's own lag, to be taken off */
    double delay_u_s;
    bool has_range;
    double range_low; /* in counts, or in the unit where is_physical */
    double range_high;
    double noise;            /* stated rms noise at rest in the unit, 0 where not stated */
    double load_drift_ratio; /* 0: none known */
    double load_drift_time_s;
};

#define SH_STREAM_NAME_BYTES   64u
#define SH_STREAM_CHANNELS_MAX 16u
#define SH_STREAMS_MAX         8u

struct sh_stream {
    char name[SH_STREAM_NAME_BYTES];
    double rate_hz;
    double offset_s; /* time of frame 0 where there are no clock anchors */
    double offset_u_s;
    size_t n_channels; /* 1 to SH_STREAM_CHANNELS_MAX */
    struct sh_channel channel[SH_STREAM_CHANNELS_MAX];
    bool has_crosstalk; /* values = crosstalk * values, rows first */
    double crosstalk[SH_STREAM_CHANNELS_MAX][SH_STREAM_CHANNELS_MAX];
};

/* Names as in recording.json ("string_force", "x", "index"). Static strings; "" for none. */
const char *sh_channel_role_name(enum sh_role role);
const char *sh_channel_axis_name(enum sh_axis axis);
const char *sh_channel_finger_name(enum sh_finger finger);

/* Finds the value of a name; false where there is none of that name, *out untouched. */
bool sh_channel_role_find(const char *name, enum sh_role *out);
bool sh_channel_axis_find(const char *name, enum sh_axis *out);
bool sh_channel_finger_find(const char *name, enum sh_finger *out);

#endif
