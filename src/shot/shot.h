/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SHOT_SHOT_H
#define SH_SHOT_SHOT_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/quantity.h"
#include "metrology/channel.h"
#include "sensor/timebase.h"

/*
 * One draw as the segmenter found it: its kind, its events (docs/definitions.md) and the
 * samples around it.
 */

enum sh_shot_kind { SH_SHOT_SHOT, SH_SHOT_LET_DOWN, SH_SHOT_UNRESOLVED };

enum sh_clicker_sensor {
    SH_CLICKER_NONE,
    SH_CLICKER_CONTACT,
    SH_CLICKER_ACCELERATION,
    SH_CLICKER_SOUND
};

/* The events in the order of the shot: name and the stem of their JSON keys (unit s). */
#define SH_EVENT_LIST(X)                                                                       \
    X(SH_EVENT_DRAW_START, "draw_start", "draw start")                                         \
    X(SH_EVENT_FULL_DRAW, "full_draw", "full draw")                                            \
    X(SH_EVENT_CLICKER, "clicker", "clicker")                                                  \
    X(SH_EVENT_RELEASE, "release", "release")                                                  \
    X(SH_EVENT_LET_DOWN, "let_down", "let-down")                                               \
    X(SH_EVENT_END, "end", "end")

enum sh_event {
#define X(name, stem, title) name,
    SH_EVENT_LIST(X)
#undef X
        SH_EVENT_COUNT
};

/* Why a strip was still standing when the string was let go (early-loose): positive evidence.
 */
enum sh_strip_evidence {
    SH_STRIP_UNKNOWN,        /* nothing can be said */
    SH_STRIP_CONTACT_CLOSED, /* the contact was closed at the release */
    SH_STRIP_NO_BLOW,        /* this archer's blow would have been noticed, probability .995 */
    SH_STRIP_FELL            /* the clicker was seen */
};

/*
 * What an event's error has in common with other events': the clock that it was read on and the
 * delay of the channel that showed it. Both are parts of the event's u, and cancel in the time
 * between two events that have them in common. All zero: not known.
 */
struct sh_event_share {
    bool is_known;
    size_t stream;    /* whose clock */
    size_t channel;   /* of it: whose delay; of the sum of fingers the first */
    double clock_u_s; /* the clock's part of u */
    double delay_u_s; /* the delay's part */
};

struct sh_shot {
    unsigned n; /* 1 for the first draw of the recording, let-downs count */
    enum sh_shot_kind kind;
    struct sh_quantity event_s[SH_EVENT_COUNT]; /* s since the recording's start */
    struct sh_event_share event_share[SH_EVENT_COUNT];
    bool is_corrected[SH_EVENT_COUNT]; /* overruled by a person's mark */
    enum sh_clicker_sensor clicker_sensor;
    double clicker_probability; /* 0..1; with no clicker channel 0 */
    enum sh_strip_evidence strip;
    struct sh_quantity rest_n; /* rest level of the force before the draw, N */
    struct sh_quantity drop_n; /* size of the fall at the release, N */
    double rest_noise_n;       /* rms of the force's noise at rest (white, per sample), N */
    bool has_gap;              /* touched by lost samples between draw start and end */
    bool is_clipped;           /* a sample of any channel reached its range, same span */
    bool is_noisy;             /* rest noise over 5 times the sensor's stated, or its usual */
    bool has_dead_channel;     /* a channel did not change where others moved */
};

/* One stream's samples around a shot, in physical units. */
struct sh_shot_stream {
    const struct sh_stream *stream;
    uint64_t first_frame;
    size_t n_frames;
    const double *time_s;               /* [n_frames], channel delays not taken off */
    double time_u_s;                    /* of the clock over this window */
    const struct sh_timebase *timebase; /* what time_s was read by; NULL: not known */
    enum sh_timebase_reading reading;
    const double *value[SH_STREAM_CHANNELS_MAX]; /* each [n_frames] */
    const unsigned char *flags;                  /* [n_frames], bits below */
    struct sh_quantity
        rest_n[SH_STREAM_CHANNELS_MAX]; /* of force channels: level at rest before
                                           the draw, not taken off value */
};

#define SH_SHOT_FLAG_FILLED  1u /* the sample stands for a lost one */
#define SH_SHOT_FLAG_CLIPPED 2u /* some channel of the frame reached its range */
#define SH_SHOT_FLAG_FULL    4u /* a force channel reached the loaded end of its range */

/*
 * The force that the events and force measures rest on: string force, or where there is none
 * the sum of the finger forces, minus the rest level. Frame i of it is frame i of
 * stream[stream].
 */
struct sh_shot_force {
    bool is_present;
    bool is_finger_sum;
    size_t stream;     /* index into sh_shot_view.stream */
    size_t n_channels; /* channels summed: 1, or the fingers */
    size_t channel[SH_STREAM_CHANNELS_MAX];
    double rate_hz; /* nominal */
    size_t n_frames;
    const double *net_n; /* [n_frames] */
    double delay_s;      /* to be taken off time_s */
    double delay_u_s;
    double noise_n;       /* white noise, rms per sample, N (quantisation included) */
    double scale_u_ratio; /* relative standard uncertainty of net_n from calibration at full
                             draw */
    double time_u_s;      /* of the clock over this window */
};

/*
 * Samples from SH_SHOT_LEAD_S before the draw start (or as far back as they reach, bounded) to
 * SH_SHOT_TAIL_S after the release, or after the force of a let-down has gone, where the
 * recording goes on that long. Borrowed: valid during the sink's call.
 */
#define SH_SHOT_LEAD_S 3.0
#define SH_SHOT_TAIL_S 2.25

struct sh_shot_view {
    size_t n_streams;
    struct sh_shot_stream stream[SH_STREAMS_MAX];
    struct sh_shot_force force;
};

/*
 * Names as in the machine-readable result; "" for no sensor and for what is no kind or event.
 * Static strings: never free them. Any thread. Test: tests/shot/test_shot.c (all of this file).
 */
const char *sh_shot_kind_name(enum sh_shot_kind kind);                  /* "shot" ... */
const char *sh_shot_clicker_sensor_name(enum sh_clicker_sensor sensor); /* "contact" ..., "" */
const char *sh_shot_event_stem(enum sh_event event);                    /* "draw_start" */
const char *sh_shot_event_title(enum sh_event event);                   /* "draw start" */

/*
 * Finds the first channel of a role (and axis, finger; NONE: any); false where there is none,
 * *stream and *channel untouched. Cost: O(channels). Any thread.
 */
bool sh_shot_view_find(const struct sh_shot_view *view,
                       enum sh_role role,
                       enum sh_axis axis,
                       enum sh_finger finger,
                       size_t *stream,
                       size_t *channel);

/*
 * Index (with its fraction) into a stream's samples at a time, for a channel of that stream,
 * its delay taken off; and back. Outside the samples both go on at the nominal rate. The
 * stream holds at least one sample, all arguments are finite. Where a step of the clock lets
 * several frames fit, one of them. Cost: a binary search; O(1) back. Any thread.
 */
double sh_shot_stream_index(const struct sh_shot_stream *stream, double delay_s, double time_s);
double sh_shot_stream_time(const struct sh_shot_stream *stream, double delay_s, double index);

#endif
