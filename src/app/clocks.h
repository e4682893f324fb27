/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_CLOCKS_H
#define SH_APP_CLOCKS_H

#include "recording/session.h"
#include "sensor/block.h"

/*
 * What is known of the clocks of all sensors' streams so far: a recording that begins while
 * they run takes its first times from here, and a replay its present.
 * Test: tests/app/test_clocks.c.
 */
struct sh_clocks {
    size_t n_streams;
    struct sh_timebase timebase[SH_STREAMS_MAX]; /* owned: all anchors so far */
    uint64_t next_frame[SH_STREAMS_MAX];         /* behind the last that has come */
    int64_t arrived_us; /* host's monotonic time when what comes now was read */
};

/* Clocks without anchors for the streams of session. To be closed whatever comes back.
 * SH_ERR_ARGUMENT: a stream without a rate. */
enum sh_status sh_clocks_init(struct sh_clocks *clocks, const struct sh_session *session);

/* Frees what they own and zeroes them. Takes zeroed clocks. */
void sh_clocks_close(struct sh_clocks *clocks);

/* Notes that a block has come, or an anchor. Statuses of sh_timebase_append. */
void sh_clocks_push_block(struct sh_clocks *clocks, const struct sh_block *block);
enum sh_status
sh_clocks_push_anchor(struct sh_clocks *clocks, size_t stream, const struct sh_anchor *anchor);

/*
 * The anchor of any frame from the last anchor on, as the anchors up to now put it. False where
 * the stream has none yet.
 */
bool sh_clocks_find_anchor(const struct sh_clocks *clocks,
                           size_t stream,
                           uint64_t frame,
                           struct sh_anchor *out);

/* Time up to which samples have come of the stream that is furthest; 0 before there are any. */
double sh_clocks_get_now_s(const struct sh_clocks *clocks);

#endif
