/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sim/finger_signal.h"

#include <math.h>
#include <stddef.h>

#include "sim/chance.h"
#include "sim/move.h"

#define N_FINGERS          SH_FINGER_SIGNAL_FINGERS
#define RING               2u
#define SLIDE_AFTER_S      0.6  /* after the anchor, so that the hold's beginning is clean */
#define SLIDE_BEFORE_S     0.15 /* done by then before the loose */
#define N_RELEASE_STEPS    500
#define N_RELEASE_HALVINGS 40
#define FINGER_BEND        0.5

/* Between 0 at the anchor and 1 at the loose, held outside. */
static double hold_share(const struct sh_archer_plan *plan, double t_s)
{
    const double share = (t_s - plan->anchor_s) / (plan->loose_s - plan->anchor_s);
    return fmin(1.0, fmax(0.0, share));
}

static void draw_slide(struct sh_finger_signal *finger,
                       const struct sh_archer_plan *plan,
                       struct sh_random *random)
{
    const double first_s = plan->anchor_s + SLIDE_AFTER_S;
    const double last_s = plan->loose_s - SLIDE_BEFORE_S;
    const double length_s = sh_chance_between(random, 0.4, 0.7) * fmin(1.0, last_s - first_s);
    finger->has_slide = true;
    finger->slide_begin_s = sh_chance_between(random, first_s, last_s - length_s);
    finger->slide_end_s = finger->slide_begin_s + length_s;
    finger->slide_share = sh_chance_between(random, 0.09, 0.14);
}

static bool has_bend(const struct sh_archer_plan *plan)
{
    return plan->drop_bend < 0.0 || plan->drop_bend > 0.0;
}

void sh_finger_signal_draw(struct sh_finger_signal *finger,
                           const struct sh_string_signal *string,
                           struct sh_random *random)
{
    *finger = (struct sh_finger_signal){0};
    finger->share[0] = sh_chance_between(random, 0.35, 0.42);
    finger->share[RING] = sh_chance_between(random, 0.18, 0.26);
    finger->share[1] = 1.0 - finger->share[0] - finger->share[RING];
    finger->share_drift[0] = sh_chance_between(random, -0.012, 0.012);
    finger->share_drift[RING] = sh_chance_between(random, -0.012, 0.012);
    finger->share_drift[1] = -finger->share_drift[0] - finger->share_drift[RING];
    finger->excess_ratio = sh_chance_between(random, 0.04, 0.07);
    size_t order[N_FINGERS] = {0, 1, 2};
    sh_random_shuffle(random, order, N_FINGERS);
    finger->haste[order[1]] = sh_chance_between(random, 1.0, 2.5);
    finger->haste[order[2]] = sh_chance_between(random, 2.5, 5.0);
    for (size_t i = 0; i < N_FINGERS && has_bend(&string->plan); i++) {
        finger->bend[i] = sh_chance_between(random, -FINGER_BEND, FINGER_BEND);
    }
    if ((string->plan.faults & (unsigned)SH_ARCHER_FINGER_SLIDE) != 0) {
        draw_slide(finger, &string->plan, random);
    }
}

void sh_finger_signal_get_share(const struct sh_finger_signal *finger,
                                const struct sh_string_signal *string,
                                double t_s,
                                double out[N_FINGERS])
{
    const double held = hold_share(&string->plan, t_s);
    for (size_t i = 0; i < N_FINGERS; i++) {
        out[i] = finger->share[i] + held * finger->share_drift[i];
    }
    if (finger->has_slide) {
        const double slid = finger->slide_share *
                            sh_move_share(t_s, finger->slide_begin_s, finger->slide_end_s);
        out[0] += 0.5 * slid;
        out[1] += 0.5 * slid;
        out[RING] -= slid;
    }
}

/* Moves shares from the hasty to the others, by how far the string has left: 0 to 1. */
static void
let_go(const struct sh_finger_signal *finger, double progress, double share[N_FINGERS])
{
    double sum = 0.0;
    for (size_t i = 0; i < N_FINGERS; i++) {
        share[i] *= exp(-finger->haste[i] * pow(progress, exp(finger->bend[i])));
        sum += share[i];
    }
    for (size_t i = 0; i < N_FINGERS; i++) {
        share[i] /= sum;
    }
}

void sh_finger_signal_get_force_n(const struct sh_finger_signal *finger,
                                  const struct sh_string_signal *string,
                                  double t_s,
                                  double out[N_FINGERS])
{
    const struct sh_archer_plan *plan = &string->plan;
    const bool is_let_down = (plan->faults & (unsigned)SH_ARCHER_LET_DOWN) != 0;
    const double since_loose_s = t_s - plan->loose_s;
    double sum_n = 0.0;
    sh_finger_signal_get_share(finger, string, t_s, out);
    if (is_let_down || since_loose_s < plan->drop_s) {
        sum_n = (1.0 + finger->excess_ratio) * sh_string_signal_get_force_n(string, t_s);
    }
    if (!is_let_down && since_loose_s > 0.0 && since_loose_s < plan->drop_s) {
        let_go(finger, since_loose_s / plan->drop_s, out);
    }
    for (size_t i = 0; i < N_FINGERS; i++) {
        out[i] *= sum_n;
    }
}

static double get_one_force_n(const struct sh_finger_signal *finger,
                              const struct sh_string_signal *string,
                              double t_s,
                              size_t which)
{
    double force_n[N_FINGERS];
    sh_finger_signal_get_force_n(finger, string, t_s, force_n);
    return force_n[which];
}

/* The last time at which one finger holds half_n: by steps back from the end, then halving. */
static double find_half_s(const struct sh_finger_signal *finger,
                          const struct sh_string_signal *string,
                          size_t which,
                          double half_n)
{
    const double step_s = string->plan.drop_s / N_RELEASE_STEPS;
    double high_s = string->plan.loose_s + string->plan.drop_s;
    while (high_s - step_s > string->plan.loose_s &&
           get_one_force_n(finger, string, high_s - step_s, which) < half_n) {
        high_s -= step_s;
    }
    double low_s = high_s - step_s;
    for (int i = 0; i < N_RELEASE_HALVINGS; i++) {
        const double middle_s = 0.5 * (low_s + high_s);
        if (get_one_force_n(finger, string, middle_s, which) < half_n) {
            high_s = middle_s;
        } else {
            low_s = middle_s;
        }
    }
    return low_s;
}

void sh_finger_signal_get_release_s(const struct sh_finger_signal *finger,
                                    const struct sh_string_signal *string,
                                    double out[N_FINGERS])
{
    const double release_s = sh_string_signal_get_release_s(string);
    double loose_n[N_FINGERS];
    sh_finger_signal_get_force_n(finger, string, string->plan.loose_s, loose_n);
    for (size_t i = 0; i < N_FINGERS; i++) {
        out[i] = find_half_s(finger, string, i, 0.5 * loose_n[i]) - release_s;
    }
}
