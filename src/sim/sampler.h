/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SIM_SAMPLER_H
#define SH_SIM_SAMPLER_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "sensor/block.h"
#include "sim/stream_source.h"

/*
 * Turns a session into what sensors would send: blocks of counts of several streams, each with
 * its own rate and clock, in order of time, with clock anchors and lost frames (filled blocks
 * that repeat the last counts). Counts, anchors and losses depend on the plan, the streams and
 * the seed alone, not on block sizes nor on how far each advance goes. Memory is bounded by
 * block_frames. One thread at a time. Test: tests/sim/test_sampler.c.
 */

#define SH_SAMPLER_SLICE_S 0.1 /* streams take turns by this, on a fixed grid */

struct sh_sampler_config {
    const struct sh_session_plan *plan; /* kept */
    uint64_t seed;
    const struct sh_stream_source_config *stream; /* [n_streams], copied */
    size_t n_streams;                             /* 1 to SH_STREAMS_MAX */
    size_t block_frames;                          /* of the largest block, 1 to 65,536 */
    bool has_errors; /* the sensors are off by what they are uncertain by (sensor_error.h) */
};

struct sh_sampler;

/*
 * Opens a sampler that stands at the session's beginning. copies config's streams and sink,
 * keeps plan and the sink's context. sink->anchor may be NULL where no stream has anchors.
 * SH_ERR_ARGUMENT, SH_ERR_UNSUPPORTED (see sh_stream_source_init), SH_ERR_MEMORY. *out is set
 * only on success.
 */
enum sh_status sh_sampler_open(const struct sh_sampler_config *config,
                               const struct sh_block_sink *sink,
                               struct sh_sampler **out,
                               struct sh_error *err);

/* Frees a sampler and sets *sampler to NULL. Takes NULL. */
void sh_sampler_close(struct sh_sampler **sampler);

/*
 * Passes on all frames whose true time is before until_s and before the session's end, within
 * a slice one stream after the other. A stream's frames follow each other without a hole, from
 * frame 0 on. Returns the sink's status where it is not SH_OK; after that only reset and close
 * make sense. Cost: that of sh_stream_source_make a frame.
 */
enum sh_status
sh_sampler_advance(struct sh_sampler *sampler, double until_s, struct sh_error *err);

/* True once the whole session has been passed on. */
bool sh_sampler_is_done(const struct sh_sampler *sampler);

/* As after open: the same session from its beginning. */
void sh_sampler_reset(struct sh_sampler *sampler);

#endif
