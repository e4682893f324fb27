/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SHOT_HIGH_PASS_H
#define SH_SHOT_HIGH_PASS_H

#include <stdbool.h>
#include <stddef.h>

#include "base/status.h"
#include "shot/shot.h"

/*
 * What is quick in some channels of a stream: a causal Butterworth high-pass of second order,
 * which moves no onset forward. Any thread. Test: tests/shot/test_high_pass.c.
 */
#define SH_HIGH_PASS_SETTLE_S 0.3 /* it runs in on so much before the span, if it is there */
#define SH_HIGH_PASS_CORNER_RATIO                                                              \
    6.0 /* the corner lies at this part of the rate at the most                                \
         */

struct sh_high_pass {
    const struct sh_shot_stream *stream;
    size_t n_channels; /* 1 or more */
    size_t channel[SH_STREAM_CHANNELS_MAX];
    double corner_hz;
    size_t first; /* the span: frames first .. first + n - 1 of the stream */
    size_t n;
};

/* Filters the i-th of its channels into y[n]. SH_ERR_NOT_FINITE, SH_ERR_ARGUMENT as
 * sh_biquad_make. Cost: O(n). */
enum sh_status sh_high_pass_filter(const struct sh_high_pass *pass, size_t i, double *y);

/*
 * The squares of all its channels added, into sum[n]. scratch: [n], lent. The same statuses.
 */
enum sh_status sh_high_pass_add(const struct sh_high_pass *pass, double *scratch, double *sum);

/* Was a frame of the span lost? */
bool sh_high_pass_is_lost(const struct sh_high_pass *pass);

/* Frame of the stream at or after a time (its first channel's delay off), 0 to n_frames. */
size_t sh_high_pass_get_frame(const struct sh_high_pass *pass, double time_s);

/* Time of a place in the span, with its uncertainty of u frames and those of clock and delay.
 */
struct sh_quantity
sh_high_pass_get_time_s(const struct sh_high_pass *pass, double index, double u);

#endif
