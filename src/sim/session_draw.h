/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SIM_SESSION_DRAW_H
#define SH_SIM_SESSION_DRAW_H

#include <stdbool.h>

#include "sim/bow_signal.h"
#include "sim/finger_signal.h"
#include "sim/shot_truth.h"
#include "sim/truth.h"

/*
 * One draw of a session: its signals, which run on the draw's own clock, and the session time
 * at which that clock reads 0. A plain value. Test: tests/sim/test_session_draw.c.
 */

/* Who shoots with what: the same in all draws of a session. */
struct sh_session_archer {
    struct sh_bow_law law;
    struct sh_bow_voice voice;
    bool has_clicker;        /* the bow has one */
    double fault_size_ratio; /* creep, flinch, collapse and slide, of what they would be */
    double drop_bend;        /* of a release's fall: a draw's is between this and minus it */
};

struct sh_session_draw {
    double hand_s; /* session time at which the hand takes up the string */
    struct sh_string_signal string;
    struct sh_bow_signal bow;
    struct sh_finger_signal finger;
    struct sh_shot_truth shot;
};

/*
 * Draws one draw with the given faults; hand_s is 0. On a bow without clicker the faults that
 * need one are dropped. A plan in which the contract finds no full draw is drawn again.
 * SH_ERR_SHORT: none of 100 plans had one. SH_ERR_MEMORY. *draw is set only on success.
 */
enum sh_status sh_session_draw_make(struct sh_session_draw *draw,
                                    const struct sh_session_archer *archer,
                                    unsigned faults,
                                    struct sh_random *random,
                                    struct sh_error *err);

/* From when to when anything happens, in session time: nocking to the end of all ringing. */
double sh_session_draw_get_begin_s(const struct sh_session_draw *draw);
double sh_session_draw_get_end_s(const struct sh_session_draw *draw);

/* When the string was let go or, of a let-down, was down again, in session time. */
double sh_session_draw_get_done_s(const struct sh_session_draw *draw);

/*
 * What truly happened, on the session's clock. n, set-up time and clock belong to the session
 * and are 0. Cost: some thousand forces.
 */
void sh_session_draw_get_truth(const struct sh_session_draw *draw, struct sh_truth *truth);

#endif
