/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_METROLOGY_CROSSTALK_H
#define SH_METROLOGY_CROSSTALK_H

#include <stddef.h>

#include "base/status.h"
#include "metrology/channel.h"

/*
 * How much of one finger's force its neighbours' sensors show, from each finger loaded in turn.
 * Test: tests/metrology/test_crosstalk.c.
 */

#define SH_CROSSTALK_READINGS_MAX 256u

/* All channels' values, in the unit, while one of them alone is loaded. */
struct sh_crosstalk_reading {
    size_t loaded;  /* which channel */
    double force_n; /* what it carries, above 0 */
    double value_n[SH_STREAM_CHANNELS_MAX];
};

struct sh_crosstalk {
    size_t n_channels;
    /* values = share * forces, [shown][loaded], and standard uncertainties */
    double share[SH_STREAM_CHANNELS_MAX][SH_STREAM_CHANNELS_MAX];
    double share_u[SH_STREAM_CHANNELS_MAX][SH_STREAM_CHANNELS_MAX];
    /* its inverse: what the values are multiplied by */
    double matrix[SH_STREAM_CHANNELS_MAX][SH_STREAM_CHANNELS_MAX];
};

/*
 * Least squares through zero, each share from the readings with that finger loaded; then the
 * inverse, by elimination with pivots. n_channels: 2 to SH_STREAM_CHANNELS_MAX.
 * SH_ERR_ARGUMENT (counts, forces or channels out of range), SH_ERR_NOT_FINITE, SH_ERR_SHORT: a
 * finger has fewer than 2 readings. SH_ERR_SINGULAR: fingers cannot be told apart (a pivot
 * below 0.05). Any thread.
 */
enum sh_status sh_crosstalk_solve(const struct sh_crosstalk_reading *readings,
                                  size_t n,
                                  size_t n_channels,
                                  struct sh_crosstalk *out);

/*
 * Turns shares [n][n] into the matrix that takes them off, or that back into shares. n: 1 to
 * SH_STREAM_CHANNELS_MAX; the rest of matrix stays. SH_ERR_SINGULAR, matrix untouched: a pivot
 * below 0.05. Cost: O(n^3). Any thread.
 */
enum sh_status
sh_crosstalk_invert(size_t n,
                    double share[SH_STREAM_CHANNELS_MAX][SH_STREAM_CHANNELS_MAX],
                    double matrix[SH_STREAM_CHANNELS_MAX][SH_STREAM_CHANNELS_MAX]);

#endif
