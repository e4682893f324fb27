/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sim/bow_signal.h"

#include <assert.h>
#include <math.h>

#include "base/units.h"
#include "sim/chance.h"
#include "sim/move.h"

#define SOUND_PA_PER_M_S2 0.02
#define PUSH_RISE_S       0.004 /* the bow is pushed back as the string goes */
#define IDLE_TREMOR_RATIO 0.3   /* raised but not drawn, of that at full draw */
#define FOLLOW_THROUGH_S  2.5   /* the tremor has gone by then */
#define BLOW_GAIN_SD      0.05
#define BLOW_PACE_SD      0.003
#define BLOW_LAG_SD       0.03
#define KNOCK_RATIO       0.3 /* probability of each of the chance knocks */
#define SPAN_MARGIN_S     0.1
#define LET_DOWN_STRIP    0.3 /* gain of a strip that is taken off by hand */

static void add_event(struct sh_bow_signal *signal,
                      enum sh_bow_blow blow,
                      double begin_s,
                      double gain,
                      double pace)
{
    assert(signal->n_events < SH_BOW_SIGNAL_EVENTS_MAX);
    signal->event[signal->n_events++] = (struct sh_bow_event){
        .blow = blow,
        .begin_s = begin_s,
        .end_s = begin_s + sh_bow_voice_get_length_s(&signal->voice, blow) / pace,
        .gain = gain,
        .pace = pace,
    };
}

/* Before the draw: nocking, the strip being set, chance knocks, others' clickers. */
static void draw_set_up(struct sh_bow_signal *signal,
                        const struct sh_archer_plan *plan,
                        struct sh_random *random)
{
    const double rest_s = sh_chance_between(random, -4.5, -3.2);
    const double nock_s = rest_s + sh_chance_between(random, 0.2, 0.6);
    add_event(signal, SH_BOW_BLOW_NOCK, rest_s, sh_chance_between(random, 0.4, 1.0), 1.0);
    add_event(signal, SH_BOW_BLOW_NOCK, nock_s, sh_chance_between(random, 0.8, 1.6), 1.0);
    for (int i = 0; i < 2; i++) {
        const double knock_s = sh_chance_between(random, -4.0, plan->preload_end_s);
        const double gain = sh_chance_between(random, 0.3, 1.2);
        if (sh_chance_is(random, KNOCK_RATIO)) {
            add_event(signal, SH_BOW_BLOW_KNOCK, knock_s, gain, 1.0);
        }
    }
    for (int i = 0; i < 2; i++) {
        const double other_s = sh_chance_between(random, -4.0, plan->loose_s + 1.0);
        const double gain = sh_chance_between(random, 0.2, 1.0);
        if (sh_chance_is(random, KNOCK_RATIO)) {
            add_event(signal, SH_BOW_BLOW_NEIGHBOUR, other_s, gain, 1.0);
        }
    }
    const double gain = sh_chance_between(random, 0.25, 0.5);
    const double pace = sh_chance_between(random, 0.97, 1.03);
    signal->strip_on_s = sh_chance_between(random, -2.4, -1.5);
    if (signal->has_strip) {
        add_event(signal, SH_BOW_BLOW_CLICKER, signal->strip_on_s, gain, pace);
    }
}

/* When the strip comes off the arrow and what is heard of it. */
static void draw_strip(struct sh_bow_signal *signal,
                       const struct sh_archer_plan *plan,
                       struct sh_random *random)
{
    const bool is_let_down = (plan->faults & (unsigned)SH_ARCHER_LET_DOWN) != 0;
    const double gain = 1.0 + BLOW_GAIN_SD * sh_random_get_normal(random);
    const double pace = 1.0 + BLOW_PACE_SD * sh_random_get_normal(random);
    const double lag_s =
        signal->voice.blow_lag_s * (1.0 + BLOW_LAG_SD * sh_random_get_normal(random));
    const double gone_s = sh_chance_between(random, 0.006, 0.011);
    const double taken_s = sh_chance_between(random, 0.5, 1.2);
    assert(signal->has_strip || !plan->has_clicker);
    if (!signal->has_strip) {
        return;
    }
    if (is_let_down) {
        signal->strip_off_s = plan->loose_s + plan->let_down_s + taken_s;
        add_event(signal, SH_BOW_BLOW_CLICKER, signal->strip_off_s, LET_DOWN_STRIP, pace);
        return;
    }
    signal->has_blow = plan->has_clicker;
    signal->strip_off_s =
        plan->has_clicker ? plan->expansion_end_s : signal->release_s + gone_s;
    add_event(signal, SH_BOW_BLOW_CLICKER, signal->strip_off_s + lag_s, gain, pace);
    signal->blow_s = plan->has_clicker ? signal->strip_off_s + lag_s : 0.0;
}

static void draw_release(struct sh_bow_signal *signal, struct sh_random *random)
{
    const double lag_s = signal->voice.shock_lag_s * sh_chance_between(random, 0.98, 1.02);
    signal->shock_s = signal->release_s + lag_s;
    add_event(signal, SH_BOW_BLOW_STRING_OFF, signal->release_s,
              sh_chance_between(random, 0.7, 1.3), 1.0);
    add_event(signal, SH_BOW_BLOW_SHOCK, signal->shock_s, sh_chance_between(random, 0.8, 1.2),
              1.0);
    add_event(signal, SH_BOW_BLOW_RING, signal->shock_s, sh_chance_between(random, 0.9, 1.1),
              1.0);
}

static void draw_tremor(struct sh_bow_signal *signal, struct sh_random *random)
{
    const double centre_hz = sh_chance_between(random, 7.0, 10.5);
    const double rms_m_s2 = sh_chance_between(random, 0.08, 0.25); /* of each axis, about */
    const double part_m_s2 = rms_m_s2 / sqrt((double)SH_BOW_SIGNAL_TREMOR_LINES);
    for (size_t i = 0; i < SH_BOW_SIGNAL_TREMOR_LINES; i++) {
        struct sh_bow_tremor_line *line = &signal->tremor[i];
        line->hz = fmin(12.0, fmax(6.0, centre_hz + 0.6 * sh_random_get_normal(random)));
        for (size_t axis = 0; axis < 3; axis++) {
            line->sine_m_s2[axis] = part_m_s2 * sh_random_get_normal(random);
            line->cosine_m_s2[axis] = part_m_s2 * sh_random_get_normal(random);
        }
    }
}

static void find_span(struct sh_bow_signal *signal)
{
    signal->begin_s = signal->raise_begin_s;
    signal->end_s = fmax(signal->lower_end_s, signal->release_s + FOLLOW_THROUGH_S);
    for (size_t i = 0; i < signal->n_events; i++) {
        signal->begin_s = fmin(signal->begin_s, signal->event[i].begin_s);
        signal->end_s = fmax(signal->end_s, signal->event[i].end_s);
    }
    if (signal->has_strip) {
        signal->end_s = fmax(signal->end_s, signal->strip_off_s);
    }
    signal->begin_s -= SPAN_MARGIN_S;
    signal->end_s += SPAN_MARGIN_S; /* covers the sound's lag */
}

void sh_bow_signal_draw(struct sh_bow_signal *signal,
                        const struct sh_bow_voice *voice,
                        const struct sh_string_signal *string,
                        bool has_strip,
                        struct sh_random *random)
{
    const struct sh_archer_plan *plan = &string->plan;
    const bool is_let_down = (plan->faults & (unsigned)SH_ARCHER_LET_DOWN) != 0;
    *signal = (struct sh_bow_signal){
        .voice = *voice,
        .has_strip = has_strip,
        .draw_begin_s = plan->draw_begin_s,
        .anchor_s = plan->anchor_s,
        .release_s = is_let_down ? plan->loose_s : sh_string_signal_get_release_s(string),
    };
    signal->raise_begin_s = sh_chance_between(random, -1.3, -1.0);
    signal->raise_end_s = signal->raise_begin_s + sh_chance_between(random, 0.7, 1.0);
    signal->lower_begin_s =
        signal->release_s +
        (is_let_down ? 0.7 * plan->let_down_s : sh_chance_between(random, 0.08, 0.2));
    signal->lower_end_s = signal->lower_begin_s + sh_chance_between(random, 0.6, 1.2);
    draw_set_up(signal, plan, random);
    draw_strip(signal, plan, random);
    draw_tremor(signal, random);
    if (!is_let_down) {
        draw_release(signal, random);
    }
    find_span(signal);
}

static void add_modes(const struct sh_bow_signal *signal,
                      const struct sh_bow_event *event,
                      double t_s,
                      double out[3])
{
    for (size_t m = 0; m < signal->voice.n_modes[event->blow]; m++) {
        const struct sh_bow_mode *mode = &signal->voice.mode[event->blow][m];
        const double phase = 2.0 * SH_PI * mode->hz * event->pace * (t_s - event->begin_s);
        const double shape = event->gain * exp(-mode->damping * phase) *
                             sin(phase * sqrt(1.0 - mode->damping * mode->damping));
        for (size_t axis = 0; axis < 3; axis++) {
            out[axis] += shape * mode->amplitude_m_s2[axis];
        }
    }
}

/* Adds what the events of this time make, with or without those that are only heard. */
static void
add_blows(const struct sh_bow_signal *signal, double t_s, bool is_sound, double out[3])
{
    for (size_t i = 0; i < signal->n_events; i++) {
        const struct sh_bow_event *event = &signal->event[i];
        const bool is_felt = event->blow != SH_BOW_BLOW_NEIGHBOUR;
        if (t_s >= event->begin_s && t_s < event->end_s && (is_felt || is_sound)) {
            add_modes(signal, event, t_s, out);
        }
    }
}

/* Of the tremor at full draw: 0 at rest, some while the bow is raised, 1 from the anchor on. */
static double tremor_share(const struct sh_bow_signal *signal, double t_s)
{
    const double raised =
        IDLE_TREMOR_RATIO * sh_move_share(t_s, signal->raise_begin_s, signal->raise_end_s);
    const double drawn =
        (1.0 - IDLE_TREMOR_RATIO) * sh_move_share(t_s, signal->draw_begin_s, signal->anchor_s);
    return (raised + drawn) *
           (1.0 - sh_move_share(t_s, signal->release_s, signal->release_s + FOLLOW_THROUGH_S));
}

static void add_tremor(const struct sh_bow_signal *signal, double t_s, double out[3])
{
    const double share = tremor_share(signal, t_s);
    if (share <= 0.0) {
        return;
    }
    for (size_t i = 0; i < SH_BOW_SIGNAL_TREMOR_LINES; i++) {
        const struct sh_bow_tremor_line *line = &signal->tremor[i];
        const double phase = 2.0 * SH_PI * line->hz * t_s;
        const double sine = share * sin(phase);
        const double cosine = share * cos(phase);
        for (size_t axis = 0; axis < 3; axis++) {
            out[axis] += sine * line->sine_m_s2[axis] + cosine * line->cosine_m_s2[axis];
        }
    }
}

/* The reaction while the string drives the arrow: back, from the release to the shock. */
static double push_m_s2(const struct sh_bow_signal *signal, double t_s)
{
    if (t_s <= signal->release_s || t_s >= signal->shock_s) {
        return 0.0;
    }
    return -signal->voice.push_m_s2 *
           sh_move_share(t_s, signal->release_s, signal->release_s + PUSH_RISE_S) *
           (1.0 - sh_move_share(t_s, signal->shock_s - PUSH_RISE_S, signal->shock_s));
}

/* What a sensor at rest feels of gravity: the upward direction in the bow's own axes. */
static void set_gravity(double pitch_rad, double cant_rad, double out[3])
{
    out[0] = SH_UNITS_G0_M_S2 * sin(pitch_rad);
    out[1] = SH_UNITS_G0_M_S2 * cos(pitch_rad) * sin(cant_rad);
    out[2] = SH_UNITS_G0_M_S2 * cos(pitch_rad) * cos(cant_rad);
}

void sh_bow_signal_get_rest_m_s2(const struct sh_bow_voice *voice, double out[3])
{
    set_gravity(voice->rest_pitch_rad, voice->cant_rad, out);
}

void sh_bow_signal_get_acceleration_m_s2(const struct sh_bow_signal *signal,
                                         double t_s,
                                         double out[3])
{
    const double raised = sh_move_share(t_s, signal->raise_begin_s, signal->raise_end_s) -
                          sh_move_share(t_s, signal->lower_begin_s, signal->lower_end_s);
    const double swing_rad = signal->voice.held_pitch_rad - signal->voice.rest_pitch_rad;
    set_gravity(signal->voice.rest_pitch_rad + raised * swing_rad, signal->voice.cant_rad, out);
    add_tremor(signal, t_s, out);
    add_blows(signal, t_s, false, out);
    out[0] += push_m_s2(signal, t_s);
}

bool sh_bow_signal_has_contact(const struct sh_bow_signal *signal, double t_s)
{
    return signal->has_strip && t_s >= signal->strip_on_s && t_s < signal->strip_off_s;
}

double sh_bow_signal_get_sound_pa(const struct sh_bow_signal *signal, double t_s)
{
    double sum[3] = {0.0, 0.0, 0.0};
    add_blows(signal, t_s - signal->voice.sound_lag_s, true, sum);
    return SOUND_PA_PER_M_S2 * (sum[0] + sum[1] + sum[2]);
}
