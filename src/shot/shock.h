/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SHOT_SHOCK_H
#define SH_SHOT_SHOCK_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/quantity.h"
#include "shot/shot.h"

/*
 * The shock of a release in the bow's acceleration: the arrow has gone, the string stops, the
 * bow rings down. A watch, sample by sample, says where one may be; the judgement over the
 * samples around it says whether it is one. Knocks, bumps and the clicker's blow are refused:
 * they are weaker, or have died down SH_SHOCK_TAIL_BEGIN_S later, or come while the bow is not
 * held still. Any thread, one at a time per object. Test: tests/shot/test_shock.c.
 *
 * The limits are reckoned, not measured on bows: a riser of 1.2 kg that is stopped by a string
 * of 60 m/s sees hundreds of m/s2, a strip of some grams a tenth of that.
 */
#define SH_SHOCK_TRIGGER_M_S2 30.0 /* the watch looks too readily */
#define SH_SHOCK_MERGE_S      1.0  /* what comes so soon after a trigger belongs to it */
#define SH_SHOCK_PEAK_M_S2    60.0 /* a shock reaches this, */
#define SH_SHOCK_TAIL_M_S2    8.0  /* and its ringing this (rms), in the span */
#define SH_SHOCK_TAIL_BEGIN_S 0.04 /* behind the peak from here */
#define SH_SHOCK_TAIL_END_S   0.12 /* to here; */
#define SH_SHOCK_PEAK_RATIO   20.0 /* and over the second before these multiples */
#define SH_SHOCK_TAIL_RATIO   5.0
#define SH_SHOCK_USUAL_RATIO  0.25 /* and over this part of the session's usual ringing */
#define SH_SHOCK_RATE_MIN_HZ  80.0 /* slower samples do not show it */
#define SH_SHOCK_CORNER_HZ    15.0 /* slower motion is filtered off */

/* The watch. */
struct sh_shock {
    double rate_hz;
    size_t n_channels;
    size_t channel[SH_STREAM_CHANNELS_MAX];
    double slow_m_s2[SH_STREAM_CHANNELS_MAX];
    bool has_begun;
    bool is_triggered;
    uint64_t next_frame;
    uint64_t trigger_frame; /* of the latest */
};

/* channel: [n_channels], copied; rate_hz above 0; first_frame: the next that will come. */
void sh_shock_init(struct sh_shock *shock,
                   double rate_hz,
                   const size_t *channel,
                   size_t n_channels,
                   uint64_t first_frame);

/* Takes a frame's values [channels of the stream]. True where a trigger's second is over: a
 * shock may begin at trigger_frame. Cost: ten operations a channel. */
bool sh_shock_push(struct sh_shock *shock, const double *value);

/* Where to judge. */
struct sh_shock_config {
    const struct sh_shot_stream *stream;
    size_t n_channels;
    size_t channel[SH_STREAM_CHANNELS_MAX]; /* the first one's delay counts */
    double from_s;                          /* its peak lies between these */
    double until_s;
    double usual_m_s2; /* ringing of this session's shocks, 0: not known */
};

enum sh_shock_answer {
    SH_SHOCK_UNKNOWN, /* too slow, too short, or most of its ringing lost */
    SH_SHOCK_NONE,
    SH_SHOCK_FOUND
};

struct sh_shock_found {
    struct sh_quantity release_s; /* first arrival of the release in the vibration */
    double peak_m_s2;
    double tail_m_s2;
    double before_m_s2;
};

/*
 * Judges the strongest shaking in from_s .. until_s. FOUND sets release_s: where the string
 * slips off the fingers, if that stands out in the 20 ms before the shock and nothing shakes
 * already; else the time an arrow is on the string (10 to 20 ms) before the shock, with that as
 * its interval. Where samples were lost there, the interval is wider by them. *found is set
 * but where the answer is UNKNOWN. work: [2 * n_frames], lent.
 * Cost: O(frames of the span and a second more).
 */
enum sh_shock_answer sh_shock_judge(const struct sh_shock_config *config,
                                    double *work,
                                    struct sh_shock_found *found);

#endif
