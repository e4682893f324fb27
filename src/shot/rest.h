/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SHOT_REST_H
#define SH_SHOT_REST_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/quantity.h"

/*
 * Where the force stands when nobody pulls, and how noisy it is there.
 *
 * The force is averaged over short blocks; blocks that stay near each other for
 * SH_REST_PLATEAU_S or more make a plateau, which follows slow drift (up to about 0.4 N/s) but
 * neither a draw nor a step. Bumps and knocks fall out of a plateau without ending it. Set-up
 * preload (5 to 20 % of the draw, held for seconds) and a step of the sensor's zero are both
 * plateaus, the later ones higher or lower than the earlier ones; which is the rest level is
 * chosen among the last SH_REST_PLATEAUS_MAX of them:
 * - where the level after the draw is known: the plateau nearest to it, the latest of equals;
 * - else the lowest of the latest ones, back to the first that lasted SH_REST_PRELOAD_MAX_S,
 *   longer than anybody preloads.
 *
 * A plain value without heap; one thread at a time. What it says depends on the samples alone,
 * never on how they were cut. Test: tests/shot/test_rest.c.
 */
#define SH_REST_PLATEAUS_MAX  16u  /* when full, the oldest plateau is forgotten */
#define SH_REST_BLOCK_S       0.05 /* at least SH_REST_BLOCK_FRAMES */
#define SH_REST_BLOCK_FRAMES  8u
#define SH_REST_PLATEAU_S     0.4
#define SH_REST_PRELOAD_MAX_S 8.0
#define SH_REST_AGE_MAX_S     30.0 /* before the latest plateau's end; what ended then is past */
#define SH_REST_TOLERANCE_N   1.0  /* of a block's mean about its plateau, besides noise */

/* One stretch of even force. */
struct sh_rest_plateau {
    uint64_t first_frame;
    uint64_t end_frame;   /* one past the last block that belongs to it */
    double level_n;       /* about the mean of its last two and a half seconds */
    double square_n2;     /* mean square of the blocks' means about the level */
    double white_n2;      /* white noise, per sample: half the mean square of the differences */
    double variance_n2;   /* all noise within a block, per sample */
    double n_blocks;      /* that the level rests on */
    double n_blocks_seen; /* that belong to it */
};

struct sh_rest {
    double rate_hz;
    double resolution_n; /* smallest step of the samples, 0 where unknown */
    size_t n_block;      /* frames a block */
    uint64_t next_frame;

    size_t n_in_block;
    bool is_block_filled;
    double first_n;
    double last_n;
    double sum_n;
    double square_n2;
    double step_n2;

    bool has_block;
    double lowest_n; /* block so far, for when there is no plateau */
    bool has_current;
    struct sh_rest_plateau current;
    bool has_candidate;
    struct sh_rest_plateau candidate;
    size_t n_past;
    struct sh_rest_plateau past[SH_REST_PLATEAUS_MAX]; /* oldest first */
    double live_n;
};

/* Where the force rested, N. */
struct sh_rest_level {
    struct sh_quantity level_n;
    double white_n; /* rms white noise per sample, quantisation included; 0: not known */
    double noise_n; /* rms of all noise faster than a block, the same */
};

/*
 * Starts afresh. rate_hz above 0 and finite; resolution_n: step of the force of one count, 0
 * where it has none; first_frame: number of the first sample that will come.
 */
void sh_rest_init(struct sh_rest *rest,
                  double rate_hz,
                  double resolution_n,
                  uint64_t first_frame);

/*
 * Takes the next sample; is_filled: it stands for a lost one, its block then counts for
 * nothing. force_n is finite. Cost: some ten operations, once a block some hundred.
 */
void sh_rest_push(struct sh_rest *rest, double force_n, bool is_filled);

/*
 * The rest level as known now, without what comes later: what draws are looked for against.
 * Before the first plateau the lowest block so far, before the first block 0. Cost: O(1).
 */
double sh_rest_get_level(const struct sh_rest *rest);

/*
 * The rest level before a draw: chooses among the plateaus that had formed by the frame
 * end_frame. after_n: level after the draw, NULL where
 * not known. Without any plateau the lowest block, with the tolerance as standard uncertainty;
 * without any block it is unknown (SH_WHY_TOO_SHORT). Cost: O(SH_REST_PLATEAUS_MAX).
 */
void sh_rest_choose(const struct sh_rest *rest,
                    uint64_t end_frame,
                    const double *after_n,
                    struct sh_rest_level *out);

/* Forgets all plateaus that began at or after first_frame: those of a draw. */
void sh_rest_forget(struct sh_rest *rest, uint64_t first_frame);

#endif
