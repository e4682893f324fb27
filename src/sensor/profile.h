/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SENSOR_PROFILE_H
#define SH_SENSOR_PROFILE_H

#include <stdbool.h>
#include <stddef.h>

#include "base/status.h"
#include "metrology/channel.h"
#include "sensor/device_clock.h"
#include "sensor/frame.h"

/*
 * What a sensor is: how its bytes come and what its numbers mean. Read from an INI file that
 * docs/sensor-profile.md describes; examples are in docs/sensors.
 */

#define SH_PROFILE_TEXT_BYTES  128u
#define SH_PROFILE_FILE_BYTES  262144u /* longer files are refused */
#define SH_PROFILE_RATE_MIN_HZ 1.0
#define SH_PROFILE_RATE_MAX_HZ 100000.0

enum sh_framing {
    SH_FRAMING_TEXT,   /* sensor/text_frame.h */
    SH_FRAMING_PACKETS /* docs/sensor-framing.md */
};

struct sh_profile_stream {
    size_t number;    /* of the stream in the packets, below SH_STREAMS_MAX; 0 with text */
    size_t n_columns; /* numbers in a frame, 1 to SH_STREAM_CHANNELS_MAX */
    size_t column[SH_STREAM_CHANNELS_MAX]; /* of each channel, from 0, ascending */
    struct sh_stream stream;
};

/* About 240 kB: better not on a small stack. Plain memory, nothing to close. */
struct sh_profile {
    char name[SH_PROFILE_TEXT_BYTES]; /* for people, "" where not given */
    char port[SH_PROFILE_TEXT_BYTES]; /* an address of sensor/port.h, "" where not given */
    int baud;
    enum sh_framing framing;
    struct sh_device_clock_config clock; /* latency; the rest is the default */
    size_t n_streams;                    /* 1 to SH_STREAMS_MAX; 1 with text */
    struct sh_profile_stream streams[SH_STREAMS_MAX];
};

/*
 * Reads the n_bytes of a profile; name stands for it in messages ("gauge.ini"). *out is
 * complete on success, else without meaning. Strict: an unknown section or key, a key given
 * twice, a value out of its kind or range, or something missing is SH_ERR_FORMAT, and err says
 * in which line and what to do. SH_ERR_MEMORY. Test: tests/sensor/test_profile.c.
 */
enum sh_status sh_profile_parse(const char *text,
                                size_t n_bytes,
                                const char *name,
                                struct sh_profile *out,
                                struct sh_error *err);

/*
 * Reads a profile from a file. As sh_profile_parse, and SH_ERR_NOT_FOUND, SH_ERR_PERMISSION,
 * SH_ERR_IO, SH_ERR_FULL (over SH_PROFILE_FILE_BYTES).
 */
enum sh_status sh_profile_read(const char *path, struct sh_profile *out, struct sh_error *err);

/*
 * Turns a frame as it was decoded (stream: number in the packets, one count a column) into one
 * of the profile's (stream: index in streams, one count a channel). False, *to untouched, where
 * the profile has no such stream or the stream another number of columns. from and to may be
 * the same. Test: tests/sensor/test_sensor_loop.c.
 */
bool sh_profile_pick_frame(const struct sh_profile *profile,
                           const struct sh_frame *from,
                           struct sh_frame *to);

#endif
