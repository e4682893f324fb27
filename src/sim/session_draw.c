/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sim/session_draw.h"

#include <math.h>

#include "signal/stats.h"
#include "sim/chance.h"

#define N_TRIES       100
#define N_SHARES      401u /* points over the hold for the median share */
#define FIRST_SHARE_S 0.5  /* the hold's beginning and end, as the contract has them */
#define LAST_SHARE_S  0.1
#define N_FINGERS     SH_FINGER_SIGNAL_FINGERS
#define LOAD_STEP_S   0.001
#define LOAD_MEAN_N   20u /* steps of the mean whose largest is the peak */

#define NEEDS_CLICKER                                                                          \
    ((unsigned)SH_ARCHER_FLINCH | (unsigned)SH_ARCHER_COLLAPSE |                               \
     (unsigned)SH_ARCHER_EARLY_LOOSE | (unsigned)SH_ARCHER_ANTICIPATED_CLICKER |               \
     (unsigned)SH_ARCHER_LATE_REACTION)

/* One plan and what the contract finds in it. */
static enum sh_status try_plan(struct sh_session_draw *draw,
                               const struct sh_session_archer *archer,
                               unsigned faults,
                               struct sh_random *random,
                               struct sh_error *err)
{
    struct sh_archer_plan plan;
    sh_archer_plan_draw(&plan, faults, random);
    plan.has_clicker = plan.has_clicker && archer->has_clicker;
    if (archer->drop_bend > 0.0) {
        plan.drop_bend = sh_chance_between(random, -archer->drop_bend, archer->drop_bend);
    }
    plan.creep_m *= archer->fault_size_ratio;
    plan.flinch_m *= archer->fault_size_ratio;
    plan.collapse_m *= archer->fault_size_ratio;
    sh_string_signal_init(&draw->string, &archer->law, &plan);
    return sh_shot_truth_find(&draw->string, &draw->shot, err);
}

enum sh_status sh_session_draw_make(struct sh_session_draw *draw,
                                    const struct sh_session_archer *archer,
                                    unsigned faults,
                                    struct sh_random *random,
                                    struct sh_error *err)
{
    struct sh_session_draw made = {.hand_s = 0.0};
    struct sh_error try_err = {0};
    enum sh_status status = SH_ERR_SHORT;
    if (!archer->has_clicker) {
        faults &= ~NEEDS_CLICKER;
    }
    for (int i = 0; i < N_TRIES && status == SH_ERR_SHORT; i++) {
        try_err = (struct sh_error){0};
        status = try_plan(&made, archer, faults, random, &try_err);
    }
    if (status != SH_OK) {
        return sh_error_set(err, status, NULL, try_err.todo, "%s", try_err.what);
    }
    sh_bow_signal_draw(&made.bow, &archer->voice, &made.string, archer->has_clicker, random);
    sh_finger_signal_draw(&made.finger, &made.string, random);
    made.finger.slide_share *= archer->fault_size_ratio;
    *draw = made;
    return SH_OK;
}

double sh_session_draw_get_begin_s(const struct sh_session_draw *draw)
{
    return draw->hand_s + draw->bow.begin_s;
}

double sh_session_draw_get_end_s(const struct sh_session_draw *draw)
{
    return draw->hand_s + draw->bow.end_s;
}

double sh_session_draw_get_done_s(const struct sh_session_draw *draw)
{
    const struct sh_archer_plan *plan = &draw->string.plan;
    return draw->hand_s +
           (draw->shot.is_let_down ? plan->loose_s + plan->let_down_s : draw->shot.release_s);
}

/* Means of the shares over begin_s .. end_s, from the middles of N_SHARES equal parts. */
static void
get_mean_share(const struct sh_session_draw *draw, double begin_s, double end_s, double out[3])
{
    out[0] = out[1] = out[2] = 0.0;
    for (size_t k = 0; k < N_SHARES; k++) {
        const double t_s = begin_s + (end_s - begin_s) * ((double)k + 0.5) / N_SHARES;
        double share[3];
        sh_finger_signal_get_share(&draw->finger, &draw->string, t_s, share);
        for (size_t i = 0; i < 3; i++) {
            out[i] += share[i] / N_SHARES;
        }
    }
}

static void find_fingers(const struct sh_session_draw *draw, struct sh_truth *truth)
{
    const struct sh_shot_truth *shot = &draw->shot;
    double share[3][N_SHARES];
    double first[3];
    double last[3];
    for (size_t k = 0; k < N_SHARES; k++) {
        const double t_s = shot->full_draw_s + shot->hold_time_s * ((double)k + 0.5) / N_SHARES;
        double now[3];
        sh_finger_signal_get_share(&draw->finger, &draw->string, t_s, now);
        for (size_t i = 0; i < 3; i++) {
            share[i][k] = now[i];
        }
    }
    get_mean_share(draw, shot->full_draw_s, shot->full_draw_s + FIRST_SHARE_S, first);
    get_mean_share(draw, shot->release_s - LAST_SHARE_S, shot->release_s, last);
    for (size_t i = 0; i < 3; i++) {
        truth->finger_share[i] = sh_stats_select_median(share[i], N_SHARES);
        truth->finger_share_change[i] = last[i] - first[i];
    }
    sh_finger_signal_get_release_s(&draw->finger, &draw->string, truth->finger_release_s);
}

/* What each finger bears from draw start to the event that ends the draw: the contract's
 * impulse, by the middles of milliseconds, and the largest 20 ms mean. */
static void
find_loads(const struct sh_session_draw *draw, double until_s, struct sh_truth *truth)
{
    double window_n[N_FINGERS][LOAD_MEAN_N] = {{0.0}};
    double sum_n[N_FINGERS] = {0.0};
    const size_t n = (size_t)fmax(0.0, (until_s - draw->shot.draw_start_s) / LOAD_STEP_S);
    for (size_t i = 0; i < n; i++) {
        const double t_s = draw->shot.draw_start_s + ((double)i + 0.5) * LOAD_STEP_S;
        double force_n[N_FINGERS];
        sh_finger_signal_get_force_n(&draw->finger, &draw->string, t_s, force_n);
        for (size_t k = 0; k < N_FINGERS; k++) {
            double *oldest_n = &window_n[k][i % LOAD_MEAN_N];
            sum_n[k] += force_n[k] - *oldest_n;
            *oldest_n = force_n[k];
            truth->finger_impulse_n_s[k] += force_n[k] * LOAD_STEP_S;
            truth->finger_peak_n[k] = fmax(truth->finger_peak_n[k], sum_n[k] / LOAD_MEAN_N);
        }
    }
}

static void find_shot(const struct sh_session_draw *draw, struct sh_truth *truth)
{
    const struct sh_bow_mode *ring = sh_bow_voice_get_ring(&draw->bow.voice);
    truth->kind = SH_TRUTH_SHOT;
    truth->release_s = draw->hand_s + draw->shot.release_s;
    truth->hold_time_s = draw->shot.hold_time_s;
    truth->ring_hz = ring->hz;
    truth->ring_damping = ring->damping;
    find_fingers(draw, truth);
}

static void find_clicker(const struct sh_session_draw *draw, struct sh_truth *truth)
{
    truth->has_clicker = true;
    truth->clicker_contact_s = draw->hand_s + draw->bow.strip_off_s;
    truth->clicker_blow_s = draw->hand_s + draw->bow.blow_s;
    truth->clicker_sound_s = truth->clicker_blow_s + draw->bow.voice.sound_lag_s;
    truth->clicker_reaction_s = truth->release_s - truth->clicker_contact_s;
}

void sh_session_draw_get_truth(const struct sh_session_draw *draw, struct sh_truth *truth)
{
    const struct sh_archer_plan *plan = &draw->string.plan;
    *truth = (struct sh_truth){
        .kind = SH_TRUTH_LET_DOWN,
        .faults = plan->faults,
        .draw_start_s = draw->hand_s + draw->shot.draw_start_s,
        .full_draw_s = draw->hand_s + draw->shot.full_draw_s,
        .expansion_m = plan->expansion_m,
        .creep_m = plan->creep_m,
        .flinch_m = plan->flinch_m,
        .flinch_s = plan->flinch_m > 0.0 ? draw->hand_s + plan->flinch_s : 0.0,
        .collapse_m = plan->collapse_m,
        .finger_sum_ratio = 1.0 + draw->finger.excess_ratio,
        .has_finger_slide = draw->finger.has_slide,
        .finger_slide_s =
            draw->finger.has_slide ? draw->hand_s + draw->finger.slide_begin_s : 0,
    };
    find_loads(draw, draw->shot.is_let_down ? draw->shot.let_down_s : draw->shot.release_s,
               truth);
    if (draw->shot.is_let_down) {
        truth->let_down_s = draw->hand_s + draw->shot.let_down_s;
        return;
    }
    find_shot(draw, truth);
    if (draw->shot.has_clicker) {
        find_clicker(draw, truth);
    }
}
