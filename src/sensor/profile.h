/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SENSOR_PROFILE_H
#define SH_SENSOR_PROFILE_H

#include <stddef.h>

#include "base/status.h"
#include "metrology/channel.h"

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
    size_t n_streams; /* 1 to SH_STREAMS_MAX; 1 with text */
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

#endif
