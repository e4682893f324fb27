/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SIM_STRING_SIGNAL_H
#define SH_SIM_STRING_SIGNAL_H

#include "sim/archer.h"
#include "sim/bow_law.h"

/*
 * The noise-free net force of the string over one shot, at any time of the plan's clock: the
 * bow's force at the hand's travel, plus tremor and sway that grow with the load. At the loose
 * the force falls along half a cosine within the plan's drop time; then the string rings.
 *
 * A plain value, never changed after init: threads may share it.
 * Test: tests/sim/test_string_signal.c.
 */
struct sh_string_signal {
    struct sh_bow_law bow;      /* copied */
    struct sh_archer_plan plan; /* copied */
    double preload_m;           /* travel at the set-up */
    double loose_force_n;       /* force at the loose */
    double ring_ratio;          /* first amplitude of the ringing, of the force at the loose */
    double ring_hz;
    double ring_damping; /* damping ratio */
};

/* Copies bow and plan. Rings with 4 % of the force at 60 Hz, damping ratio 0.06. */
void sh_string_signal_init(struct sh_string_signal *signal,
                           const struct sh_bow_law *bow,
                           const struct sh_archer_plan *plan);

/* Travel of the string hand from rest in m at t_s; meaningful up to the loose. */
double sh_string_signal_get_travel_m(const struct sh_string_signal *signal, double t_s);

/* Net force in N at t_s; 0 before the shot. Cost: SH_ARCHER_TREMOR_LINES sines. */
double sh_string_signal_get_force_n(const struct sh_string_signal *signal, double t_s);

/*
 * The contract's release_s: 10 % of the drop has fallen. Exact, as the ringing begins after the
 * drop. Of a let-down it has no meaning.
 */
double sh_string_signal_get_release_s(const struct sh_string_signal *signal);

#endif
