/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SENSOR_TIMEBASE_H
#define SH_SENSOR_TIMEBASE_H

#include <stddef.h>
#include <stdint.h>

#include "base/status.h"
#include "sensor/block.h"

/*
 * The time of a stream's frames on the common clock, from its anchors.
 *
 * Without anchors t = offset_s + frame / rate_hz. With them there are two readings:
 * SH_TIMEBASE_FORWARD (first pass, live): an anchor counts from its own frame on; times are
 * extrapolated from the last anchor at or before the frame, at the slope between the last two
 * of them (the nominal rate while there is one).
 * SH_TIMEBASE_BETWEEN (second pass): linear between the anchors on either side; before the
 * first and after the last as FORWARD would. Both depend on the anchors and the frame alone,
 * never on how the stream was cut. At an anchor FORWARD may step by the anchor's error; callers
 * do not rely on times being evenly spaced.
 */
enum sh_timebase_reading { SH_TIMEBASE_FORWARD, SH_TIMEBASE_BETWEEN };

#define SH_TIMEBASE_RATE_U_RATIO 1e-3     /* standard uncertainty of a nominal rate */
#define SH_TIMEBASE_ANCHORS_MAX  1000000u /* 115 days at one each 10 s; then SH_ERR_FULL */

struct sh_timebase {
    double rate_hz;
    double offset_s;
    double offset_u_s;
    struct sh_anchor *anchors; /* owned, by frame ascending */
    size_t n_anchors;
    size_t capacity;
};

/* A timebase without anchors. rate_hz > 0 and finite, else SH_ERR_ARGUMENT. */
enum sh_status sh_timebase_init(struct sh_timebase *timebase,
                                double rate_hz,
                                double offset_s,
                                double offset_u_s);

/* Frees the anchors. Takes a closed or zeroed timebase. */
void sh_timebase_close(struct sh_timebase *timebase);

/*
 * Appends an anchor whose frame and time are above the last one's, u_s >= 0, all finite; else
 * SH_ERR_ARGUMENT. SH_ERR_MEMORY, SH_ERR_FULL.
 */
enum sh_status sh_timebase_append(struct sh_timebase *timebase, const struct sh_anchor *anchor);

/*
 * Time of a frame (a fraction is allowed) and its standard uncertainty: the larger of the two
 * anchors' between them; where the slope between two anchors is extrapolated, both anchors'
 * errors as they come through it. u_s may be NULL.
 */
double sh_timebase_time(const struct sh_timebase *timebase,
                        enum sh_timebase_reading reading,
                        double frame,
                        double *u_s);

/*
 * Standard uncertainty of the time between two frames: the errors of the anchors, taken as
 * apart from each other, as they come through both times (JCGM 100:2008, 5.1.2). What both have
 * in common cancels: 0 where both go on from one and the same anchor, or from the offset, at
 * the nominal rate, whose own error is not known. Anchors close to each other, made uncertain
 * by a latency that is the same in all, would make a rate look less known than any clock's is:
 * along one slope no more is counted than its distance from the nominal rate and
 * SH_TIMEBASE_RATE_U_RATIO allow. Cost: two binary searches.
 */
double sh_timebase_get_difference_u_s(const struct sh_timebase *timebase,
                                      enum sh_timebase_reading reading,
                                      double frame,
                                      double other_frame);

/*
 * Times of the frames first .. first + n - 1, the same bits as sh_timebase_time gives for each,
 * and the uncertainty at the last one (untouched where n is 0). Cost: one multiplication and
 * two additions a frame.
 */
void sh_timebase_fill(const struct sh_timebase *timebase,
                      enum sh_timebase_reading reading,
                      uint64_t first,
                      size_t n,
                      double *time_s,
                      double *u_s);

/*
 * The first anchor, from the second on, before whose frame time_s has been reached: the time of
 * the frame before it is time_s or later. n_anchors where there is none. Cost: O(anchors).
 */
size_t sh_timebase_find_anchor(const struct sh_timebase *timebase,
                               enum sh_timebase_reading reading,
                               double time_s);

/*
 * The frame (with its fraction) whose time is time_s. Where a FORWARD step makes two frames
 * fit, the later. May be negative. Cost: a binary search.
 */
double sh_timebase_frame(const struct sh_timebase *timebase,
                         enum sh_timebase_reading reading,
                         double time_s);

#endif
