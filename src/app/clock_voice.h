/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_CLOCK_VOICE_H
#define SH_APP_CLOCK_VOICE_H

#include "app/bell.h"
#include "series/shooting_clock.h"
#include "shot/segmenter.h"

/*
 * What may be heard of the shooting clock, and when: nothing between draw start and release as
 * far as a force channel shows it. What sounds then ends, what is due waits or is left out
 * (sh_bell_hush). Test of all: tests/app/test_clock_voice.c.
 */
enum sh_clock_voice_kind {
    SH_CLOCK_VOICE_SILENT,
    SH_CLOCK_VOICE_ONCE,   /* one stroke before anybody may draw: line-up and start */
    SH_CLOCK_VOICE_SIGNALS /* the signals of the line */
};

struct sh_clock_voice {
    enum sh_clock_voice_kind kind;
    struct sh_bell bell;
};

/* Net force from which a string is taken as pulled before the draw is known as one, N. */
#define SH_CLOCK_VOICE_PULLED_N 10.0

void sh_clock_voice_init(struct sh_clock_voice *voice, enum sh_clock_voice_kind kind);

/* To the line, or to shoot: nobody may have drawn. */
bool sh_clock_voice_is_before_draws(const struct sh_shooting_clock_event *event);

/* Hears what the clock does. */
void sh_clock_voice_hear(struct sh_clock_voice *voice,
                         const struct sh_shooting_clock_event *event);

/*
 * True where a stroke is to be rung at now_s; at most one a call. state is what the archer
 * does; where it is NULL, or no force channel tells, signals come when they are due.
 */
bool sh_clock_voice_take(struct sh_clock_voice *voice,
                         const struct sh_segmenter_state *state,
                         double now_s);

#endif
