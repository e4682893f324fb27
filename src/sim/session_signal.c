/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sim/session_signal.h"

#include <stdbool.h>

static bool is_wanted(unsigned parts, enum sh_session_part part)
{
    return (parts & (unsigned)part) != 0;
}

static void add_fingers(const struct sh_session_draw *draw,
                        double draw_t_s,
                        struct sh_session_sample *sample)
{
    double finger_n[SH_FINGER_SIGNAL_FINGERS];
    sh_finger_signal_get_force_n(&draw->finger, &draw->string, draw_t_s, finger_n);
    for (size_t i = 0; i < SH_FINGER_SIGNAL_FINGERS; i++) {
        sample->finger_n[i] += finger_n[i];
    }
}

static void add_acceleration(const struct sh_session_plan *plan,
                             const struct sh_session_draw *draw,
                             double t_s,
                             struct sh_session_sample *sample)
{
    double now_m_s2[3];
    if (draw != NULL) {
        sh_bow_signal_get_acceleration_m_s2(&draw->bow, t_s - draw->hand_s, now_m_s2);
    } else {
        sh_bow_signal_get_rest_m_s2(&plan->archer.voice, now_m_s2);
    }
    for (size_t i = 0; i < 3; i++) {
        sample->acceleration_m_s2[i] += now_m_s2[i];
    }
}

void sh_session_signal_add(const struct sh_session_plan *plan,
                           const struct sh_session_draw *draw,
                           double t_s,
                           unsigned parts,
                           struct sh_session_sample *sample)
{
    if (is_wanted(parts, SH_SESSION_PART_ACCELERATION)) {
        add_acceleration(plan, draw, t_s, sample);
    }
    if (draw == NULL) {
        return;
    }
    const double draw_t_s = t_s - draw->hand_s;
    if (is_wanted(parts, SH_SESSION_PART_STRING)) {
        sample->string_n += sh_string_signal_get_force_n(&draw->string, draw_t_s);
    }
    if (is_wanted(parts, SH_SESSION_PART_FINGERS)) {
        add_fingers(draw, draw_t_s, sample);
    }
    if (is_wanted(parts, SH_SESSION_PART_CONTACT)) {
        sample->contact += sh_bow_signal_has_contact(&draw->bow, draw_t_s) ? 1.0 : 0.0;
    }
    if (is_wanted(parts, SH_SESSION_PART_SOUND)) {
        sample->sound_pa += sh_bow_signal_get_sound_pa(&draw->bow, draw_t_s);
    }
}
