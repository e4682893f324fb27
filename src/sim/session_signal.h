/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SIM_SESSION_SIGNAL_H
#define SH_SIM_SESSION_SIGNAL_H

#include "sim/session_plan.h"

/* What every sensor would see at any time of a session, free of noise, in the unit of its role.
 */

/* Which parts of a sample are wanted, as bits. */
enum sh_session_part {
    SH_SESSION_PART_STRING = 1,
    SH_SESSION_PART_FINGERS = 2,
    SH_SESSION_PART_ACCELERATION = 4,
    SH_SESSION_PART_CONTACT = 8,
    SH_SESSION_PART_SOUND = 16
};

struct sh_session_sample {
    double string_n;             /* net, without the sensor's drifting zero */
    double finger_n[3];          /* index, middle, ring; the same */
    double acceleration_m_s2[3]; /* x, y, z; gravity included */
    double contact;              /* 1 while the strip rests on the arrow, else 0 */
    double sound_pa;
};

/*
 * Adds the parts (sh_session_part, or-ed) at t_s of the session to *sample. draw: that of
 * sh_session_plan_find_draw at t_s or a little off it; NULL between draws, when the bow rests.
 * Cost: that of the parts' signals. Test: tests/sim/test_session_signal.c.
 */
void sh_session_signal_add(const struct sh_session_plan *plan,
                           const struct sh_session_draw *draw,
                           double t_s,
                           unsigned parts,
                           struct sh_session_sample *sample);

#endif
