/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SIM_BOW_VOICE_H
#define SH_SIM_BOW_VOICE_H

#include <stddef.h>

#include "signal/random.h"

/*
 * How one archer's bow sounds: the modes that each kind of blow excites, and how the bow is
 * held. The same in every shot of a session. Frequencies, dampings and amplitudes are
 * assumptions of the simulation. A plain value. Test: tests/sim/test_bow_voice.c.
 */

#define SH_BOW_VOICE_MODES_MAX 3u

/* a(t) = amplitude * exp(-damping w t) * sin(w sqrt(1 - damping^2) t), w = 2 pi hz, t >= 0. */
struct sh_bow_mode {
    double hz;
    double damping;           /* damping ratio */
    double amplitude_m_s2[3]; /* x, y, z */
};

enum sh_bow_blow {
    SH_BOW_BLOW_CLICKER,    /* the strip strikes the riser: 300 to 900 Hz */
    SH_BOW_BLOW_STRING_OFF, /* the string slips off the fingers */
    SH_BOW_BLOW_SHOCK,      /* the arrow has gone, the string stops: 500 to 900 Hz, short */
    SH_BOW_BLOW_RING,       /* the ring-down that the shock leaves behind */
    SH_BOW_BLOW_NOCK,       /* the arrow is laid on the rest, clicks onto the string */
    SH_BOW_BLOW_KNOCK,      /* something touches the bow */
    SH_BOW_BLOW_NEIGHBOUR,  /* another archer's clicker: heard, not felt */
    SH_BOW_BLOWS            /* how many there are */
};

struct sh_bow_voice {
    struct sh_bow_mode mode[SH_BOW_BLOWS][SH_BOW_VOICE_MODES_MAX];
    size_t n_modes[SH_BOW_BLOWS];
    double blow_lag_s;     /* from the strip leaving the arrow to its blow, 2 to 5 ms */
    double shock_lag_s;    /* from the release to the shock, 13 to 17 ms: the arrow's travel */
    double sound_lag_s;    /* from a blow to the microphone, 0.5 to 3 ms */
    double push_m_s2;      /* largest acceleration while the arrow is on the string */
    double rest_pitch_rad; /* between shots; nose down is negative */
    double held_pitch_rad; /* at full draw */
    double cant_rad;       /* leaning sideways, all the time */
};

/* Draws a voice. The ring-down's strongest mode 20 ms on is 1.3 times the next or more. */
void sh_bow_voice_draw(struct sh_bow_voice *voice, struct sh_random *random);

/* Seconds until the slowest mode of a kind has died down to 1e-4. */
double sh_bow_voice_get_length_s(const struct sh_bow_voice *voice, enum sh_bow_blow blow);

/* Largest amplitude of a mode over all directions (its vector's length) at t_s, in m/s2. */
double sh_bow_voice_get_envelope_m_s2(const struct sh_bow_mode *mode, double t_s);

/* The ring-down's strongest mode 20 ms after the shock: what ring_hz and ring_damping mean. */
const struct sh_bow_mode *sh_bow_voice_get_ring(const struct sh_bow_voice *voice);

#endif
