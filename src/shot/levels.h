/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SHOT_LEVELS_H
#define SH_SHOT_LEVELS_H

#include <stdbool.h>
#include <stddef.h>

#include "shot/rest.h"
#include "shot/shot.h"

/*
 * The rest level of one force around one draw, from the samples of a window: what shot/rest.h
 * finds before the draw, held against the level after it. Any thread.
 * Test: tests/shot/test_levels.c.
 */
#define SH_LEVELS_AFTER_MIN_S 0.5 /* after a release the string rings so long */
#define SH_LEVELS_AFTER_MAX_S 2.0
#define SH_LEVELS_SKIPS_MAX   16u

/* Times of the recording's clock. */
struct sh_levels_span {
    double low_s;   /* the draw's main rise begins: rest lies before */
    bool has_after; /* the string was loosed at fall_s: the force is at rest afterwards */
    double fall_s;
    double until_s; /* and until then nobody draws again */
    size_t n_skips; /* earlier draws inside the window, which are no rest */
    struct {
        double from_s;
        double until_s;
    } skip[SH_LEVELS_SKIPS_MAX];
};

/*
 * Finds the level of value[stream->n_frames], a channel of the stream or a sum of them.
 * resolution_n: what one count is worth there, 0 where unknown. The level after the draw counts
 * where it can be had: at least half a second of it, no more uneven than a plateau at rest.
 * work: [stream->n_frames] and another [stream->n_frames], together 2 n_frames, lent.
 * Unknown as sh_rest_choose. Cost: some ten operations a frame.
 */
void sh_levels_find(const struct sh_shot_stream *stream,
                    const double *value,
                    double resolution_n,
                    const struct sh_levels_span *span,
                    double *work,
                    struct sh_rest_level *out);

#endif
