/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SHOT_BLOW_H
#define SH_SHOT_BLOW_H

#include <stddef.h>

#include "base/quantity.h"
#include "shot/shot.h"

/*
 * A short blow in a noise: the clicker's strip striking the riser, in the acceleration, or its
 * sound. Slow motion is filtered off; what is left is cut into blocks of SH_BLOW_BLOCK_S whose
 * energies are compared with each other.
 *
 * How sure: the logarithm of the strongest block's energy over the next one (what rings on
 * behind a blow left out) is c. Were there no blow, c would be exponential with the mean that
 * the largest energies themselves show (Renyi 1953; Hill 1975, Ann Stat 3:1163); a blow may be
 * as strong as it likes, c then lies anywhere from 0 to SH_BLOW_CONTRAST_MAX. Both laws and the
 * probability that there was one before anybody looked give the probability. Where others'
 * blows show too, each of them is as strong as it likes, and comes at any time.
 *
 * Any thread. Test: tests/shot/test_blow.c.
 */
#define SH_BLOW_BLOCK_S      0.002
#define SH_BLOW_RING_S       0.12 /* behind the strongest block, not compared with it */
#define SH_BLOW_CONTRAST_MAX 13.8 /* ln 1e6 */
#define SH_BLOW_BLOCKS_MIN   30u
#define SH_BLOW_RATE_MIN_HZ  300.0 /* slower samples hardly show a blow of some milliseconds */
#define SH_BLOW_LAG_S        0.8   /* so long before the release any time is as likely; */
#define SH_BLOW_FADE_S       0.5   /* earlier ones by e each such time less */

/*
 * A blow that others may have made (a neighbour's clicker is heard, not felt) is told from
 * one's own only by how it lies before the release: one's own as reactions do, even up to
 * SH_BLOW_REACTION_S (Ertan et al. 2003, Hum Mov Sci 22:37: 0.1 to 0.3 s), later ones by e each
 * SH_BLOW_REACTION_FADE_S less; another's at any time.
 */
#define SH_BLOW_REACTION_S      0.3
#define SH_BLOW_REACTION_FADE_S 0.1

/* Where to look, and in what. */
struct sh_blow_config {
    const struct sh_shot_stream *stream;
    size_t n_channels;
    size_t channel[SH_STREAM_CHANNELS_MAX]; /* energies added; the first one's delay counts */
    double corner_hz; /* filtered off below; brought down to a sixth of the rate */
    double from_s;
    double until_s;       /* the release is near: nothing after this counts */
    double prior;         /* probability of a blow before anybody looked, 0..1 */
    double foreign_per_s; /* blows of others that show here too; 0: none do */
};

struct sh_blow {
    struct sh_quantity time_s; /* first arrival */
    double probability;
    double amplitude; /* largest root of the summed squares, unit of the channels */
    double noise;     /* rms of the summed squares' root, median over the blocks */
};

/*
 * Looks for a blow. time_s is that of the strongest block's event, however improbable;
 * unknown: SH_WHY_TOO_SLOW, SH_WHY_TOO_SHORT (under SH_BLOW_BLOCKS_MIN blocks to compare
 * with), SH_WHY_GAP (a sample of the span was lost); probability is then 0.
 * The uncertainty of the time is that of the pick (Maeda's AIC), of its sampling step and of
 * the clock and of the channel's delay. work: [4 * n_frames of the stream], lent. Cost:
 * O(frames of the span).
 */
void sh_blow_find(const struct sh_blow_config *config, double *work, struct sh_blow *out);

/* How much less likely a blow is so long before a release, 0..1. */
double sh_blow_get_weight(double lag_s);

/*
 * How likely another's blow is so long before a release, as a multiple of how likely one's own
 * is where reactions lie; 0 where foreign_per_s is.
 */
double sh_blow_get_foreign(double foreign_per_s, double lag_s);

/*
 * How the largest of sorted[n] (smallest first, n at least 2, none negative) fall off: mean of
 * the logarithms of the largest tenth (5 to 100 of them) over the one below (Hill 1975).
 */
double sh_blow_get_tail(const double *sorted, size_t n);

#endif
