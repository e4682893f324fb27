/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_LIVE_SENSOR_H
#define SH_APP_LIVE_SENSOR_H

#include "base/text.h"
#include "recording/session.h"
#include "sensor/block.h"

/*
 * What a person who sets up has to see of each channel: the raw reading, its noise, the span
 * seen, and whether something is wrong with it. One thread at a time.
 * Test: tests/app/test_live_sensor.c.
 *
 * Noise is the rms of the second differences of neighbouring samples, by the root of 6 (a slow
 * pull takes no part in it), over a second; of the last two the smaller (nor does a release).
 * A channel is "at-range" where a sample of the last second or two reached
 * either end of its range; "dead" where it has not changed by one count since
 * SH_LIVE_SENSOR_DEAD_S; "noisy" where the noise, by the calibration's slope, is over
 * SH_LIVE_SENSOR_NOISY times the sensor's stated; "reversed" where a force went further below
 * its first reading than above it, by SH_LIVE_SENSOR_REVERSED_N or more, and has not stood
 * nearer to its lowest than to its highest for the longer time since (a string that was pulled
 * at the beginning and let down does), or where it stood nearer to its highest for
 * SH_LIVE_SENSOR_HIGH_SHARE of the latest SH_LIVE_SENSOR_TURNS_MAX turns (nobody holds a bow
 * drawn for so long: it was pulled as the recording began); else "ok".
 */
#define SH_LIVE_SENSOR_DEAD_S     3.0
#define SH_LIVE_SENSOR_NOISY      5.0
#define SH_LIVE_SENSOR_REVERSED_N 20.0
#define SH_LIVE_SENSOR_TURN_S     1.0  /* what is shown is of this turn and the one before */
#define SH_LIVE_SENSOR_TURNS_MAX  128u /* latest ones, by which it is told where it stands */
#define SH_LIVE_SENSOR_HIGH_SHARE 0.75
#define SH_LIVE_SENSOR_MOVES_N    1.0 /* standard deviation within a turn, */
#define SH_LIVE_SENSOR_MOVES      3.0 /* and times the noise: a force that moves */

struct sh_live_sensor_channel {
    double raw;
    double lowest; /* seen */
    double highest;
    double first_mean; /* of its first turn: where it stands when nobody pulls */
    double mean;       /* of the turn before this one */
    bool has_mean;
    double turn_mean[SH_LIVE_SENSOR_TURNS_MAX]; /* of the latest turns, in no order */
    size_t n_turns;
    double level;  /* the first reading of this turn; */
    double sum;    /* of what lies above it, */
    double sum_2;  /* and of its squares */
    double moved;  /* standard deviation of the turn before, counts */
    double square; /* of second differences */
    uint64_t n_differences;
    double step; /* to the latest sample */
    bool has_step;
    double last_counts;  /* noise of the turn before */
    double noise_counts; /* of the two before the smaller */
    bool has_noise;
    uint64_t changed_frame; /* when it last changed */
    bool is_at_range;       /* in this turn, */
    bool was_at_range;      /* in the one before */
};

struct sh_live_sensor_stream {
    bool has_begun;
    uint64_t first_frame;
    uint64_t next_frame;
    uint64_t turn_frame;
    uint64_t n_in_turn;
    struct sh_live_sensor_channel channel[SH_STREAM_CHANNELS_MAX];
};

struct sh_live_sensor {
    const struct sh_session *session; /* kept */
    struct sh_live_sensor_stream stream[SH_STREAMS_MAX];
};

void sh_live_sensor_init(struct sh_live_sensor *sensor, const struct sh_session *session);

/* Takes a block, which must be of a stream of the session. */
void sh_live_sensor_push(struct sh_live_sensor *sensor, const struct sh_block *block);

/* Appends the "sensor" message (docs/live.md). */
void sh_live_sensor_write(const struct sh_live_sensor *sensor, struct sh_text *text);

/* The mean reading of a channel over a whole turn of the last two seconds; false: not known. */
bool sh_live_sensor_find_mean(const struct sh_live_sensor *sensor,
                              size_t stream,
                              size_t channel,
                              double *mean);

/* Does a force move, in this turn or the one before: has it no reading to call its zero? */
bool sh_live_sensor_is_moving(const struct sh_live_sensor *sensor,
                              size_t stream,
                              size_t channel);

#endif
