/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SENSOR_FRAME_NUMBER_H
#define SH_SENSOR_FRAME_NUMBER_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/status.h"

/*
 * The number of a frame within its stream, from its device time.
 *
 * The next frame is expected one period behind the last ones (the mean of up to
 * SH_FRAME_NUMBER_RECENT of them, so that jitter of single time stamps does not count); what
 * comes n periods later, rounded, has n numbers left out before it. The period is the nominal
 * one until frames have been seen for a second, then the one found over the last
 * SH_FRAME_NUMBER_MARKS seconds: converters with a clock of their own are off by per cents. No
 * time is summed up; each is a frame's own. Right as long as the rate is within 10 % of the
 * nominal one and time stamps are within 0.2 periods of where they belong.
 * No heap. Test: tests/sensor/test_frame_number.c.
 */

#define SH_FRAME_NUMBER_RECENT 8u
#define SH_FRAME_NUMBER_MARKS  16u

#define SH_FRAME_NUMBER_RATE_MIN_HZ 1.0
#define SH_FRAME_NUMBER_RATE_MAX_HZ 100000.0

/* A frame and its device time. */
struct sh_frame_number_mark {
    uint64_t frame;
    int64_t device_us;
};

enum sh_frame_number_verdict {
    SH_FRAME_NUMBER_NEW,      /* behind all before */
    SH_FRAME_NUMBER_REPEATED, /* the device time of one of the last frames */
    SH_FRAME_NUMBER_LATE      /* older than the last frame */
};

/* All state; plain memory, nothing to close. */
struct sh_frame_number {
    double nominal_period_us;
    double period_us;
    struct sh_frame_number_mark recent[SH_FRAME_NUMBER_RECENT]; /* oldest first */
    size_t n_recent;
    struct sh_frame_number_mark marks[SH_FRAME_NUMBER_MARKS]; /* one a second, oldest first */
    size_t n_marks;
};

/*
 * A stream without frames. SH_ERR_ARGUMENT: rate_hz outside SH_FRAME_NUMBER_RATE_MIN_HZ to
 * SH_FRAME_NUMBER_RATE_MAX_HZ.
 */
enum sh_status sh_frame_number_init(struct sh_frame_number *number, double rate_hz);

/* Whether any frame was pushed or set. */
bool sh_frame_number_has_frame(const struct sh_frame_number *number);

/* Lets frame 0 be at device_us without a frame having come; only where there is none yet. */
void sh_frame_number_set_first(struct sh_frame_number *number, int64_t device_us);

/* Judges a frame by its device time; *frame is set where it is new. The first frame is 0. */
enum sh_frame_number_verdict
sh_frame_number_push(struct sh_frame_number *number, int64_t device_us, uint64_t *frame);

/* Device time expected of a frame near the last ones, in microseconds. There is a frame. */
double sh_frame_number_get_time(const struct sh_frame_number *number, uint64_t frame);

/* Frame (with its fraction; may be negative) expected at a device time. There is a frame. */
double sh_frame_number_get_frame(const struct sh_frame_number *number, double device_us);

/* Rate found, by the device's clock; the nominal one while less than a second was seen. */
double sh_frame_number_get_rate_hz(const struct sh_frame_number *number);

#endif
