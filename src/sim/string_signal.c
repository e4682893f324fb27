/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sim/string_signal.h"

#include <math.h>

#include "base/units.h"
#include "sim/move.h"

#define RING_RATIO   0.04
#define RING_HZ      60.0
#define RING_DAMPING 0.06

#define CREEP_AFTER_ANCHOR_S 0.35  /* the contract looks for creep from here on */
#define FLINCH_SIGMA_S       0.025 /* of the dip's Gaussian shape */
#define HALVINGS             50    /* 0.7 m / 2^50 is far below a nanometre */
#define RELEASE_RATIO        0.1   /* of the drop, at release_s */

/* Travel up to full draw at which the bow holds force_n: the force rises, so halving finds. */
static double find_travel_m(const struct sh_bow_law *bow, double force_n)
{
    double low_m = 0.0;
    double high_m = bow->config.full_travel_m;
    for (int i = 0; i < HALVINGS; i++) {
        const double middle_m = 0.5 * (low_m + high_m);
        if (sh_bow_law_get_force_n(bow, middle_m) < force_n) {
            low_m = middle_m;
        } else {
            high_m = middle_m;
        }
    }
    return low_m;
}

void sh_string_signal_init(struct sh_string_signal *signal,
                           const struct sh_bow_law *bow,
                           const struct sh_archer_plan *plan)
{
    *signal = (struct sh_string_signal){.bow = *bow,
                                        .plan = *plan,
                                        .ring_ratio = RING_RATIO,
                                        .ring_hz = RING_HZ,
                                        .ring_damping = RING_DAMPING};
    signal->preload_m = find_travel_m(bow, plan->preload_ratio * bow->config.full_force_n);
    signal->loose_force_n = sh_string_signal_get_force_n(signal, plan->loose_s);
}

double sh_string_signal_get_travel_m(const struct sh_string_signal *signal, double t_s)
{
    const struct sh_archer_plan *plan = &signal->plan;
    const double full_m = signal->bow.config.full_travel_m;
    const double preload_m = signal->preload_m;
    const bool has_pause = plan->pause_end_s > plan->pause_begin_s;
    const double pause_m = has_pause ? plan->pause_ratio * full_m : preload_m;
    const double anchor_m = full_m * (1.0 - plan->short_ratio) - plan->expansion_m;
    double travel_m = preload_m * sh_move_share(t_s, 0.0, plan->preload_end_s);
    travel_m +=
        (pause_m - preload_m) * sh_move_share(t_s, plan->draw_begin_s, plan->pause_begin_s);
    travel_m += (anchor_m - pause_m) * sh_move_share(t_s, plan->pause_end_s, plan->anchor_s);
    travel_m += plan->expansion_m * sh_move_share(t_s, plan->anchor_s, plan->expansion_end_s);
    travel_m -= plan->creep_m *
                sh_move_dip(t_s, plan->anchor_s + CREEP_AFTER_ANCHOR_S, plan->expansion_end_s);
    const double flinch = (t_s - plan->flinch_s) / FLINCH_SIGMA_S;
    travel_m -= plan->flinch_m * exp(-0.5 * flinch * flinch);
    travel_m -= plan->collapse_m * sh_move_share(t_s, plan->expansion_end_s, plan->loose_s);
    return travel_m;
}

/* Force while the hand holds the string: bow, tremor and sway, both in step with the load. */
static double hold_force_n(const struct sh_string_signal *signal, double travel_m, double t_s)
{
    const struct sh_archer_plan *plan = &signal->plan;
    const double force_n = sh_bow_law_get_force_n(&signal->bow, travel_m);
    double unsteady_n = plan->sway_n * sin(2.0 * SH_PI * plan->sway_hz * t_s);
    for (size_t i = 0; i < SH_ARCHER_TREMOR_LINES; i++) {
        const struct sh_archer_line *line = &plan->tremor[i];
        unsteady_n += line->amplitude_n * sin(2.0 * SH_PI * line->hz * t_s + line->phase_rad);
    }
    return force_n + unsteady_n * force_n / signal->bow.config.full_force_n;
}

static double ring_force_n(const struct sh_string_signal *signal, double after_drop_s)
{
    const double omega = 2.0 * SH_PI * signal->ring_hz;
    const double damping = signal->ring_damping;
    return signal->ring_ratio * signal->loose_force_n * exp(-damping * omega * after_drop_s) *
           sin(omega * sqrt(1.0 - damping * damping) * after_drop_s);
}

double sh_string_signal_get_force_n(const struct sh_string_signal *signal, double t_s)
{
    const struct sh_archer_plan *plan = &signal->plan;
    const double since_loose_s = t_s - plan->loose_s;
    if (since_loose_s <= 0.0) {
        return hold_force_n(signal, sh_string_signal_get_travel_m(signal, t_s), t_s);
    }
    if ((plan->faults & (unsigned)SH_ARCHER_LET_DOWN) != 0) {
        const double from_m = sh_string_signal_get_travel_m(signal, plan->loose_s);
        const double left = 1.0 - sh_move_share(since_loose_s, 0.0, plan->let_down_s);
        return hold_force_n(signal, from_m * left, t_s);
    }
    if (since_loose_s < plan->drop_s) {
        const double done = pow(since_loose_s / plan->drop_s, exp(plan->drop_bend));
        return 0.5 * signal->loose_force_n * (1.0 + cos(SH_PI * done));
    }
    return ring_force_n(signal, since_loose_s - plan->drop_s);
}

double sh_string_signal_get_release_s(const struct sh_string_signal *signal)
{
    const double done = acos(1.0 - 2.0 * RELEASE_RATIO) / SH_PI;
    const double share = pow(done, exp(-signal->plan.drop_bend));
    return signal->plan.loose_s + share * signal->plan.drop_s;
}
