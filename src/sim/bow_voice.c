/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sim/bow_voice.h"

#include <math.h>
#include <stdbool.h>

#include "base/units.h"
#include "sim/chance.h"

#define QUIET_RATIO   1e-4
#define RING_AFTER_S  0.02
#define RING_MARGIN   1.3
#define N_RING_TRIES  1000
#define CLEAR_OF_ZERO 1e-9

/* From which ranges the modes of a kind are drawn; each mode has a band of its own. */
struct range {
    double low;
    double high;
};

struct recipe {
    size_t n_modes;
    struct range hz[SH_BOW_VOICE_MODES_MAX];
    struct range damping;
    struct range amplitude_m_s2;
};

static const struct recipe recipes[SH_BOW_BLOWS] = {
    [SH_BOW_BLOW_CLICKER] = {3, {{300, 480}, {500, 680}, {700, 900}}, {0.02, 0.05}, {8, 25}},
    [SH_BOW_BLOW_STRING_OFF] = {2, {{200, 330}, {350, 500}}, {0.08, 0.15}, {4, 10}},
    [SH_BOW_BLOW_SHOCK] = {2, {{500, 680}, {700, 900}}, {0.06, 0.1}, {200, 350}},
    [SH_BOW_BLOW_RING] = {3, {{25, 45}, {90, 140}, {200, 300}}, {0.02, 0.035}, {40, 110}},
    [SH_BOW_BLOW_NOCK] = {2, {{150, 300}, {400, 700}}, {0.05, 0.12}, {6, 20}},
    [SH_BOW_BLOW_KNOCK] = {3, {{80, 200}, {250, 450}, {500, 800}}, {0.04, 0.1}, {4, 15}},
    [SH_BOW_BLOW_NEIGHBOUR] = {2, {{400, 600}, {650, 950}}, {0.02, 0.05}, {6, 15}},
};

static double draw_range(struct sh_random *random, const struct range *range)
{
    return sh_chance_between(random, range->low, range->high);
}

/* A direction that is even over the sphere, scaled to length. */
static void draw_vector(struct sh_random *random, double length, double out[3])
{
    double square_sum = 0.0;
    while (square_sum < CLEAR_OF_ZERO) {
        square_sum = 0.0;
        for (size_t i = 0; i < 3; i++) {
            out[i] = sh_random_get_normal(random);
            square_sum += out[i] * out[i];
        }
    }
    for (size_t i = 0; i < 3; i++) {
        out[i] *= length / sqrt(square_sum);
    }
}

static void
draw_blow(struct sh_bow_voice *voice, enum sh_bow_blow blow, struct sh_random *random)
{
    const struct recipe *recipe = &recipes[blow];
    voice->n_modes[blow] = recipe->n_modes;
    for (size_t i = 0; i < recipe->n_modes; i++) {
        struct sh_bow_mode *mode = &voice->mode[blow][i];
        mode->hz = draw_range(random, &recipe->hz[i]);
        mode->damping = draw_range(random, &recipe->damping);
        draw_vector(random, draw_range(random, &recipe->amplitude_m_s2), mode->amplitude_m_s2);
    }
}

double sh_bow_voice_get_envelope_m_s2(const struct sh_bow_mode *mode, double t_s)
{
    const double *a = mode->amplitude_m_s2;
    return sqrt(a[0] * a[0] + a[1] * a[1] + a[2] * a[2]) *
           exp(-2.0 * SH_PI * mode->hz * mode->damping * t_s);
}

const struct sh_bow_mode *sh_bow_voice_get_ring(const struct sh_bow_voice *voice)
{
    const struct sh_bow_mode *mode = voice->mode[SH_BOW_BLOW_RING];
    const struct sh_bow_mode *best = &mode[0];
    for (size_t i = 1; i < voice->n_modes[SH_BOW_BLOW_RING]; i++) {
        if (sh_bow_voice_get_envelope_m_s2(&mode[i], RING_AFTER_S) >
            sh_bow_voice_get_envelope_m_s2(best, RING_AFTER_S)) {
            best = &mode[i];
        }
    }
    return best;
}

static bool has_clear_ring(const struct sh_bow_voice *voice)
{
    const struct sh_bow_mode *best = sh_bow_voice_get_ring(voice);
    const double strongest = sh_bow_voice_get_envelope_m_s2(best, RING_AFTER_S);
    for (size_t i = 0; i < voice->n_modes[SH_BOW_BLOW_RING]; i++) {
        const struct sh_bow_mode *mode = &voice->mode[SH_BOW_BLOW_RING][i];
        if (mode != best &&
            strongest < RING_MARGIN * sh_bow_voice_get_envelope_m_s2(mode, RING_AFTER_S)) {
            return false;
        }
    }
    return true;
}

void sh_bow_voice_draw(struct sh_bow_voice *voice, struct sh_random *random)
{
    *voice = (struct sh_bow_voice){0};
    for (int blow = 0; blow < SH_BOW_BLOWS; blow++) {
        draw_blow(voice, (enum sh_bow_blow)blow, random);
    }
    /* nearly every second draw is clear */
    for (int i = 0; i < N_RING_TRIES && !has_clear_ring(voice); i++) {
        draw_blow(voice, SH_BOW_BLOW_RING, random);
    }
    voice->blow_lag_s = sh_chance_between(random, 0.002, 0.005);
    voice->shock_lag_s = sh_chance_between(random, 0.013, 0.017);
    voice->sound_lag_s = sh_chance_between(random, 0.0005, 0.003);
    voice->push_m_s2 = sh_chance_between(random, 20.0, 50.0);
    voice->rest_pitch_rad = sh_chance_between(random, -1.0, -0.6);
    voice->held_pitch_rad = sh_chance_between(random, 0.0, 0.12);
    voice->cant_rad = sh_chance_between(random, -0.05, 0.05);
}

double sh_bow_voice_get_length_s(const struct sh_bow_voice *voice, enum sh_bow_blow blow)
{
    double length_s = 0.0;
    for (size_t i = 0; i < voice->n_modes[blow]; i++) {
        const struct sh_bow_mode *mode = &voice->mode[blow][i];
        const double decay_per_s = 2.0 * SH_PI * mode->hz * mode->damping;
        length_s = fmax(length_s, -log(QUIET_RATIO) / decay_per_s);
    }
    return length_s;
}
