/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/goal_voice.h"

#include <math.h>

#include "measure/catalog.h"

struct sh_goal_voice sh_goal_voice_open(const char *home, const char *athlete, bool has_sound)
{
    return (struct sh_goal_voice){.goal = sh_hold_goal_read(home, athlete),
                                  .has_sound = has_sound};
}

void sh_goal_voice_put_goal(const struct sh_goal_voice *voice, struct sh_text *text)
{
    if (voice->goal.is_set) {
        sh_text_printf(text, "goal: hold %.4g to %.4g s\n", voice->goal.band.least_s,
                       voice->goal.band.most_s);
    }
}

void sh_goal_voice_put_live(const struct sh_goal_voice *voice,
                            const struct sh_segmenter_state *state,
                            struct sh_text *text)
{
    if (!voice->goal.is_set || state->phase != SH_SEGMENTER_HOLD) {
        return;
    }
    const enum sh_goal_place place =
        sh_goal_band_judge(&voice->goal.band, state->now_s - state->since_s);
    sh_text_printf(text, "%s %-6s", sh_goal_band_get_shape(place),
                   sh_goal_band_get_word(place));
}

void sh_goal_voice_judge(struct sh_goal_voice *voice,
                         const struct sh_shot_record *record,
                         struct sh_text *text)
{
    const struct sh_quantity *hold_s =
        sh_catalog_get(&record->measures, SH_MEASURE_HOLD_TIME, 0);
    if (!voice->goal.is_set || record->shot.kind != SH_SHOT_SHOT ||
        !sh_quantity_is_known(hold_s)) {
        return;
    }
    const enum sh_goal_place place = sh_goal_band_judge(&voice->goal.band, hold_s->value);
    sh_text_printf(text, "  Hold %s %s: %.2f s, goal %.4g to %.4g s.\n",
                   sh_goal_band_get_shape(place), sh_goal_band_get_word(place), hold_s->value,
                   voice->goal.band.least_s, voice->goal.band.most_s);
    voice->has_bell = voice->has_sound && place == SH_GOAL_INSIDE;
}

bool sh_goal_voice_take_bell(struct sh_goal_voice *voice,
                             const struct sh_segmenter_state *state)
{
    if (state->phase != SH_SEGMENTER_REST) {
        voice->has_bell = false;
        return false;
    }
    const bool is_due = voice->has_bell && fabs(state->force_n) <= SH_GOAL_VOICE_QUIET_N &&
                        state->now_s - state->since_s >= SH_GOAL_VOICE_QUIET_S;
    voice->has_bell = voice->has_bell && !is_due;
    return is_due;
}
