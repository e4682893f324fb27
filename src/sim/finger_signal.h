/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SIM_FINGER_SIGNAL_H
#define SH_SIM_FINGER_SIGNAL_H

#include <stdbool.h>

#include "sim/string_signal.h"

/*
 * What index, middle and ring finger carry of the string's force over one shot. The sum of the
 * three is the string's force times 1 + excess_ratio, up to the moment at which the string has
 * left the fingers, as the fingers do not pull the same way. The ranges are assumptions of the
 * simulation. A plain value, never changed after draw: threads may share it.
 * Test: tests/sim/test_finger_signal.c.
 */

#define SH_FINGER_SIGNAL_FINGERS 3u /* index, middle, ring, in this order */

struct sh_finger_signal {
    double share[SH_FINGER_SIGNAL_FINGERS];       /* up to the anchor; their sum is 1 */
    double share_drift[SH_FINGER_SIGNAL_FINGERS]; /* gained from anchor to loose; sum 0 */
    double haste[SH_FINGER_SIGNAL_FINGERS]; /* lets go the sooner, the larger; 0 or more */
    double bend[SH_FINGER_SIGNAL_FINGERS]; /* 0: at an even pace; above, later, below, sooner */
    double excess_ratio;                   /* 0.04 to 0.07; less where the tab takes a part */
    bool has_slide;                        /* the ring finger slides off in the hold */
    double slide_begin_s;
    double slide_end_s;
    double slide_share; /* what the ring finger loses and the others take up, half each */
};

/*
 * Draws the fingers of one shot of string, whose plan says whether the ring finger slides
 * (SH_ARCHER_FINGER_SLIDE); where its fall is bent each finger's pace is bent too. The plain
 * drift changes no share by more than 0.024, a slide takes 0.09 to 0.14 from the ring finger's.
 */
void sh_finger_signal_draw(struct sh_finger_signal *finger,
                           const struct sh_string_signal *string,
                           struct sh_random *random);

/* Shares of the three while the fingers hold the string, at t_s of string's clock; sum 1. */
void sh_finger_signal_get_share(const struct sh_finger_signal *finger,
                                const struct sh_string_signal *string,
                                double t_s,
                                double out[SH_FINGER_SIGNAL_FINGERS]);

/*
 * Net forces of the three in N at t_s, 0 once the string has left. string must be that of draw.
 * While it leaves, what a hasty finger gives up goes to the others.
 */
void sh_finger_signal_get_force_n(const struct sh_finger_signal *finger,
                                  const struct sh_string_signal *string,
                                  double t_s,
                                  double out[SH_FINGER_SIGNAL_FINGERS]);

/*
 * When each finger's force has fallen for good to half of what it was at the loose, relative to
 * the string's release_s. Of a let-down it has no meaning. Cost: 1500 forces.
 */
void sh_finger_signal_get_release_s(const struct sh_finger_signal *finger,
                                    const struct sh_string_signal *string,
                                    double out[SH_FINGER_SIGNAL_FINGERS]);

#endif
