/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SIM_BOW_SIGNAL_H
#define SH_SIM_BOW_SIGNAL_H

#include <stdbool.h>
#include <stddef.h>

#include "sim/bow_voice.h"
#include "sim/string_signal.h"

/*
 * What happens to the riser over one shot, free of noise, at any time of the plan's clock:
 * acceleration as a sensor feels it (gravity included), the clicker's contact, the sound. x
 * along the shooting direction, y to the archer's left, z up. Outside begin_s..end_s the bow
 * hangs at rest. All figures are assumptions of the simulation.
 *
 * A plain value, never changed after draw: threads may share it.
 * Test: tests/sim/test_bow_signal.c.
 */

#define SH_BOW_SIGNAL_EVENTS_MAX   16u
#define SH_BOW_SIGNAL_TREMOR_LINES 5u

/* One blow: the voice's modes of that kind, from begin_s on. */
struct sh_bow_event {
    enum sh_bow_blow blow;
    double begin_s;
    double end_s; /* died down */
    double gain;
    double pace; /* frequencies times this */
};

struct sh_bow_tremor_line {
    double hz;
    double sine_m_s2[3];
    double cosine_m_s2[3];
};

struct sh_bow_signal {
    struct sh_bow_voice voice; /* copied */
    struct sh_bow_event event[SH_BOW_SIGNAL_EVENTS_MAX];
    size_t n_events;
    struct sh_bow_tremor_line tremor[SH_BOW_SIGNAL_TREMOR_LINES];
    double begin_s; /* nothing happens before this and after end_s */
    double end_s;
    double raise_begin_s; /* the bow is raised */
    double raise_end_s;
    double lower_begin_s; /* and sinks again */
    double lower_end_s;
    double draw_begin_s; /* the tremor grows until the anchor */
    double anchor_s;
    double release_s;  /* the contract's; of a let-down, where it begins */
    double shock_s;    /* 0 of a let-down */
    bool has_strip;    /* the bow has a clicker */
    double strip_on_s; /* the strip rests on the arrow */
    double strip_off_s;
    bool has_blow; /* the strip fell before the release */
    double blow_s; /* and struck the riser */
};

/*
 * Draws what happens around the shot of string: bumps while nocking, knocks, the strip being
 * set before the draw, its blow (5 % in strength, 0.3 % in pitch from shot to shot), the
 * release from release_s on, the shock at the arrow's departure, the ring-down. Where the
 * clicker still stands at the release, the strip falls with the departing arrow, its blow
 * inside the shock; after a let-down it is taken off by hand. has_strip false: a bow without
 * clicker. Copies voice, borrows string. The plan of string must have a clicker only with
 * has_strip.
 */
void sh_bow_signal_draw(struct sh_bow_signal *signal,
                        const struct sh_bow_voice *voice,
                        const struct sh_string_signal *string,
                        bool has_strip,
                        struct sh_random *random);

/* Acceleration along x, y, z in m/s2 at t_s. Cost: the modes that sound and five lines. */
void sh_bow_signal_get_acceleration_m_s2(const struct sh_bow_signal *signal,
                                         double t_s,
                                         double out[3]);

/* The same of a bow at rest. */
void sh_bow_signal_get_rest_m_s2(const struct sh_bow_voice *voice, double out[3]);

/* True while the strip rests on the arrow. */
bool sh_bow_signal_has_contact(const struct sh_bow_signal *signal, double t_s);

/*
 * Sound pressure in Pa at a microphone near the riser: every blow, sound_lag_s late, and the
 * clickers of others.
 */
double sh_bow_signal_get_sound_pa(const struct sh_bow_signal *signal, double t_s);

#endif
