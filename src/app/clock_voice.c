/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/clock_voice.h"

#include <stddef.h>

void sh_clock_voice_init(struct sh_clock_voice *voice, enum sh_clock_voice_kind kind)
{
    voice->kind = kind;
    sh_bell_init(&voice->bell);
}

bool sh_clock_voice_is_before_draws(const struct sh_shooting_clock_event *event)
{
    return event->kind == SH_SHOOTING_CLOCK_EVENT_LINE_UP ||
           event->kind == SH_SHOOTING_CLOCK_EVENT_START;
}

void sh_clock_voice_hear(struct sh_clock_voice *voice,
                         const struct sh_shooting_clock_event *event)
{
    if (voice->kind == SH_CLOCK_VOICE_SIGNALS) {
        sh_bell_ask(&voice->bell, event->n_signals);
    } else if (voice->kind == SH_CLOCK_VOICE_ONCE && sh_clock_voice_is_before_draws(event)) {
        sh_bell_ask(&voice->bell, 1);
    }
}

static bool is_pulled(const struct sh_segmenter_state *state)
{
    return state != NULL && state->phase != SH_SEGMENTER_UNKNOWN &&
           (state->phase != SH_SEGMENTER_REST || state->force_n > SH_CLOCK_VOICE_PULLED_N);
}

bool sh_clock_voice_take(struct sh_clock_voice *voice,
                         const struct sh_segmenter_state *state,
                         double now_s)
{
    if (is_pulled(state)) {
        sh_bell_hush(&voice->bell);
        return false;
    }
    return sh_bell_take(&voice->bell, now_s);
}
