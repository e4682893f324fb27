/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_GOAL_VOICE_H
#define SH_APP_GOAL_VOICE_H

#include <stdbool.h>

#include "app/hold_goal.h"
#include "base/text.h"
#include "finding/finding.h"
#include "shot/segmenter.h"

/*
 * What a capture says of an archer's goal for the hold: where the running hold is to the band,
 * where that of each arrow was, and one stroke of the bell after an arrow inside, where it is
 * switched on. Word and shape tell it, no colour. Test of all: tests/app/test_goal_voice.c.
 */
struct sh_goal_voice {
    struct sh_hold_goal goal;
    bool has_sound;
    bool has_bell; /* a stroke waits */
};

#define SH_GOAL_VOICE_QUIET_S 1.0 /* at rest, before a sound may come */
#define SH_GOAL_VOICE_QUIET_N 5.0 /* and no more force on the string than this */

/* Speaks of the goal that sh_hold_goal_read gives. */
struct sh_goal_voice sh_goal_voice_open(const char *home, const char *athlete, bool has_sound);

/* Appends the goal as a line, "goal: hold 2 to 3 s"; nothing without one. */
void sh_goal_voice_put_goal(const struct sh_goal_voice *voice, struct sh_text *text);

/* Appends " [*] inside" while the string is held; nothing else. */
void sh_goal_voice_put_live(const struct sh_goal_voice *voice,
                            const struct sh_segmenter_state *state,
                            struct sh_text *text);

/* Appends where an arrow's hold was, a line; nothing of other draws and unknown holds. Inside
 * asks for the bell. */
void sh_goal_voice_judge(struct sh_goal_voice *voice,
                         const struct sh_shot_record *record,
                         struct sh_text *text);

/*
 * True where the bell that waits is to be rung now: at rest for SH_GOAL_VOICE_QUIET_S with
 * no force on the string. A draw that begins before takes the stroke back: none comes between
 * draw start and release, nor where no force channel tells.
 */
bool sh_goal_voice_take_bell(struct sh_goal_voice *voice,
                             const struct sh_segmenter_state *state);

#endif
