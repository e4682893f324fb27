/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SIM_DISTURBANCE_H
#define SH_SIM_DISTURBANCE_H

#include <stddef.h>
#include <stdint.h>

#include "metrology/channel.h"
#include "sensor/block.h"
#include "sim/session_plan.h"

/*
 * What spoils a force's readings and is no part of a draw: hum of the mains, bumps while an
 * arrow is nocked, zeros that step between two draws, single readings that are nonsense. A
 * sink of blocks that adds these to the counts and passes them on; all other channels and lost
 * frames pass as they are. Each finger gets a third. How the blocks are cut changes no count.
 * Figures are assumptions of the simulation. One thread at a time.
 * Test: tests/sim/test_disturbance.c.
 */
struct sh_disturbance;

struct sh_disturbance_config {
    const struct sh_session_plan *plan; /* kept */
    const struct sh_stream *stream[SH_STREAMS_MAX];
    size_t n_streams; /* 1 to SH_STREAMS_MAX, copied */
    uint64_t seed;
    double hum_n; /* amplitude, 0 to 10 */
    double hum_hz;
    double bump_ratio; /* a bump before a draw: how likely, 0 to 1, */
    double bump_n;     /* and at most so high, 0 to 50; 0.05 to 0.2 s long */
    double step_ratio; /* a step of the zero before a draw, */
    double step_n;     /* up or down by at most so much, 0 to 50 */
    double spikes_per_h;
    double spike_n; /* of either sign, half of this to this, 0 to 1000 */
};

/*
 * Opens it before sink, whose context is kept. SH_ERR_ARGUMENT: a figure is out of its range;
 * SH_ERR_MEMORY. *out is set only on success.
 */
enum sh_status sh_disturbance_open(const struct sh_disturbance_config *config,
                                   const struct sh_block_sink *sink,
                                   struct sh_disturbance **out,
                                   struct sh_error *err);

/* Closes and sets *disturbance to NULL. Takes NULL and a pointer to NULL. */
void sh_disturbance_close(struct sh_disturbance **disturbance);

/*
 * Where the blocks go in. SH_ERR_ARGUMENT: a block is not of the streams; SH_ERR_MEMORY; what
 * the sink behind returns. Cost: a sine a frame with hum, else some operations a frame.
 */
struct sh_block_sink sh_disturbance_get_sink(struct sh_disturbance *disturbance);

#endif
