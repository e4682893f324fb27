/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "bench/events/pairing.h"

#include <math.h>

#include "bench/events/ending.h"

#define NEAR_S     0.5
#define END_S      2.0  /* after a draw its end is within this */
#define DRAW_N     20.0 /* the definition of a draw */
#define DRAW_RATIO 0.35
#define DRAW_S     0.3
#define DOUBT      0.1 /* a force so near the threshold is a draw or none */
#define STEP_S     0.01

enum worth { WORTH_NONE, WORTH_DOUBT, WORTH_DRAW };

const char *pairing_get_name(size_t event)
{
    static const char *const names[PAIRING_EVENTS] = {
        "draw start", "full draw", "clicker", "release", "let-down", "hold time", "end"};
    return names[event];
}

static bool has_role(const struct practice *practice, enum sh_role role)
{
    for (size_t i = 0; i < practice->n_sources; i++) {
        for (size_t c = 0; c < practice->source[i].stream.n_channels; c++) {
            if (practice->source[i].stream.channel[c].role == role) {
                return true;
            }
        }
    }
    return false;
}

static bool has_force(const struct practice *practice)
{
    return has_role(practice, SH_ROLE_STRING_FORCE) || has_role(practice, SH_ROLE_FINGER_FORCE);
}

/* How long the noise-free force is above a level. */
static double get_time_above_s(const struct sh_session_draw *draw, double level_n)
{
    const struct sh_archer_plan *plan = &draw->string.plan;
    double above_s = 0.0;
    for (double t_s = 0.0; t_s < plan->loose_s + plan->let_down_s; t_s += STEP_S) {
        above_s += sh_string_signal_get_force_n(&draw->string, t_s) >= level_n ? STEP_S : 0.0;
    }
    return above_s;
}

/* Is a draw of the plan one by the definition? */
static enum worth judge_draw(const struct practice *practice, size_t i)
{
    const struct sh_session_draw *draw = &practice->plan->draw[i];
    const double weight_n = practice->plan->config.bow.full_force_n;
    const double level_n = fmax(DRAW_N, DRAW_RATIO * weight_n);
    if (!has_force(practice)) {
        return draw->shot.is_let_down ? WORTH_NONE : WORTH_DRAW;
    }
    if (get_time_above_s(draw, level_n * (1.0 + DOUBT)) >= DRAW_S * (1.0 + DOUBT)) {
        return WORTH_DRAW;
    }
    return get_time_above_s(draw, level_n * (1.0 - DOUBT)) >= DRAW_S * (1.0 - DOUBT)
               ? WORTH_DOUBT
               : WORTH_NONE;
}

static double get_truth_s(const struct sh_truth *truth)
{
    return truth->kind == SH_TRUTH_SHOT ? truth->release_s : truth->let_down_s;
}

static double get_found_s(const struct sh_shot *shot)
{
    static const enum sh_event by[] = {SH_EVENT_RELEASE, SH_EVENT_LET_DOWN, SH_EVENT_FULL_DRAW,
                                       SH_EVENT_DRAW_START, SH_EVENT_END};
    for (size_t i = 0; i < sizeof by / sizeof by[0]; i++) {
        if (sh_quantity_is_known(&shot->event_s[by[i]])) {
            return shot->event_s[by[i]].value;
        }
    }
    return (double)NAN;
}

/* How far a shot is from a draw; of one whose end was cut by a gap any event of the draw does.
 */
static double get_distance_s(const struct sh_shot *shot, const struct sh_truth *truth)
{
    const double found_s = get_found_s(shot);
    if (sh_quantity_is_known(&shot->event_s[SH_EVENT_RELEASE]) ||
        sh_quantity_is_known(&shot->event_s[SH_EVENT_LET_DOWN])) {
        return fabs(found_s - get_truth_s(truth));
    }
    const bool is_inside =
        found_s > truth->draw_start_s - NEAR_S && found_s < get_truth_s(truth) + END_S;
    return is_inside ? 0.0 : (double)INFINITY;
}

static struct pairing_event pair(bool is_true, double truth, const struct sh_quantity *found)
{
    struct pairing_event event = {.is_true = is_true, .is_found = sh_quantity_is_known(found)};
    if (is_true && event.is_found) {
        double lo = 0.0;
        double hi = 0.0;
        sh_quantity_interval(found, &lo, &hi);
        event.error_s = found->value - truth;
        event.u_s = found->u;
        event.is_inside = truth >= lo && truth <= hi;
    }
    return event;
}

static double get_clicker_s(const struct practice *practice, const struct sh_truth *truth)
{
    if (has_role(practice, SH_ROLE_CLICKER_CONTACT)) {
        return truth->clicker_contact_s;
    }
    return has_role(practice, SH_ROLE_BOW_ACCELERATION) ? truth->clicker_blow_s
                                                        : truth->clicker_sound_s;
}

/* When the bow truly is quiet after a draw. */
static double get_end_s(const struct practice *practice, size_t draw)
{
    const struct sh_truth *truth = &practice->plan->truth[draw];
    const double next_s =
        draw + 1 < practice->plan->n_draws ? truth[1].draw_start_s : (double)INFINITY;
    double end_s = 0.0;
    return ending_find(practice, draw, get_truth_s(truth), next_s, &end_s) ? end_s
                                                                           : (double)NAN;
}

static void pair_draw(const struct practice *practice,
                      size_t draw,
                      const struct sh_shot_record *record,
                      struct pairing_draw *out)
{
    const struct sh_truth *truth = &practice->plan->truth[draw];
    const struct sh_quantity *found = record->shot.event_s;
    const bool is_shot = truth->kind == SH_TRUTH_SHOT;
    const double truth_s[PAIRING_HOLD] = {truth->draw_start_s, truth->full_draw_s,
                                          get_clicker_s(practice, truth), truth->release_s,
                                          truth->let_down_s};
    const bool is_true[PAIRING_HOLD] = {true, true, truth->has_clicker, is_shot, !is_shot};
    out->is_kind_right = record->shot.kind == (is_shot ? SH_SHOT_SHOT : SH_SHOT_LET_DOWN);
    out->is_cut = found[SH_EVENT_RELEASE].why == SH_WHY_GAP;
    for (size_t e = 0; e < PAIRING_HOLD; e++) {
        out->event[e] = pair(is_true[e], truth_s[e], &found[e]);
    }
    out->event[PAIRING_HOLD] = pair(is_shot, truth->hold_time_s,
                                    sh_catalog_get(&record->measures, SH_MEASURE_HOLD_TIME, 0));
    out->event[PAIRING_END] = pair(true, get_end_s(practice, draw), &found[SH_EVENT_END]);
}

/* The shot nearest a draw, of those not yet taken; n_shots where none is near. */
static size_t find_shot(const struct sh_analysis *analysis,
                        const bool *is_taken,
                        const struct sh_truth *truth)
{
    size_t nearest = analysis->n_shots;
    double nearest_s = NEAR_S;
    for (size_t i = 0; i < analysis->n_shots; i++) {
        const double apart_s = get_distance_s(&analysis->shots[i].shot, truth);
        if (!is_taken[i] && apart_s < nearest_s) {
            nearest = i;
            nearest_s = apart_s;
        }
    }
    return nearest;
}

void pairing_make(const struct practice *practice,
                  const struct sh_analysis *analysis,
                  struct pairing *out)
{
    bool is_taken[4 * PRACTICE_DRAWS] = {false};
    *out = (struct pairing){
        .seed = practice->seed, .is_done = true, .is_clean = practice->is_clean};
    if (analysis->n_shots > sizeof is_taken / sizeof is_taken[0]) {
        out->n_invented = analysis->n_shots;
        return;
    }
    for (size_t i = 0; i < practice->plan->n_draws; i++) {
        const struct sh_truth *truth = &practice->plan->truth[i];
        const enum worth worth = judge_draw(practice, i);
        const size_t k = find_shot(analysis, is_taken, truth);
        if (k < analysis->n_shots && worth != WORTH_NONE) {
            is_taken[k] = true;
        }
        if (worth != WORTH_DRAW) {
            continue;
        }
        struct pairing_draw *draw = &out->draw[out->n_draws++];
        draw->truth_s = get_truth_s(truth);
        draw->is_missed = k == analysis->n_shots;
        draw->event[2].is_true = truth->has_clicker;
        if (!draw->is_missed) {
            pair_draw(practice, i, &analysis->shots[k], draw);
            const bool is_seen = draw->event[2].is_found;
            out->n_clicker_seen += is_seen ? 1 : 0;
            out->n_clicker_false += is_seen && !truth->has_clicker ? 1 : 0;
        }
    }
    for (size_t k = 0; k < analysis->n_shots; k++) {
        if (!is_taken[k]) {
            out->n_invented++;
            out->invented_s = get_found_s(&analysis->shots[k].shot);
        }
    }
}
