/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sim/archer.h"

#include <math.h>
#include <string.h>

#include "base/units.h"
#include "sim/chance.h"

#define NEEDS_CLICKER                                                                          \
    ((unsigned)SH_ARCHER_FLINCH | (unsigned)SH_ARCHER_COLLAPSE |                               \
     (unsigned)SH_ARCHER_ANTICIPATED_CLICKER | (unsigned)SH_ARCHER_LATE_REACTION)

static bool has_fault(const struct sh_archer_plan *plan, enum sh_archer_fault fault)
{
    return (plan->faults & (unsigned)fault) != 0;
}

static unsigned settle_faults(unsigned faults)
{
    if ((faults & (unsigned)SH_ARCHER_HALF_DRAW) != 0) {
        faults |= (unsigned)SH_ARCHER_LET_DOWN;
    }
    if ((faults & ((unsigned)SH_ARCHER_LET_DOWN | (unsigned)SH_ARCHER_EARLY_LOOSE)) != 0) {
        faults &= ~NEEDS_CLICKER;
    }
    if ((faults & (unsigned)SH_ARCHER_LET_DOWN) != 0) {
        faults &= ~(unsigned)SH_ARCHER_EARLY_LOOSE;
    }
    if ((faults & (unsigned)SH_ARCHER_ANTICIPATED_CLICKER) != 0) {
        faults &= ~(unsigned)SH_ARCHER_LATE_REACTION;
    }
    if ((faults & (unsigned)SH_ARCHER_SHORT_HOLD) != 0) {
        faults &= ~((unsigned)SH_ARCHER_LONG_HOLD | (unsigned)SH_ARCHER_FINGER_SLIDE);
    }
    return faults;
}

static void plan_draw(struct sh_archer_plan *plan, struct sh_random *random)
{
    plan->preload_ratio = sh_chance_between(random, 0.05, 0.2);
    plan->preload_end_s = sh_chance_between(random, 0.3, 0.6);
    plan->draw_begin_s = plan->preload_end_s + sh_chance_between(random, 0.5, 1.5);
    const double draw_s = sh_chance_between(random, 0.9, 1.5);
    const bool has_pause =
        sh_random_get_uniform(random) < 0.25 && !has_fault(plan, SH_ARCHER_HALF_DRAW);
    plan->pause_ratio = sh_chance_between(random, 0.5, 0.7);
    plan->pause_begin_s = plan->draw_begin_s + 0.6 * draw_s;
    plan->pause_end_s = plan->pause_begin_s;
    if (has_pause) {
        plan->pause_end_s += sh_chance_between(random, 0.1, 0.3);
    } else {
        plan->pause_begin_s = plan->draw_begin_s;
        plan->pause_end_s = plan->draw_begin_s;
    }
    plan->anchor_s = plan->pause_end_s + (has_pause ? 0.6 : 1.0) * draw_s;
}

static double draw_expansion_time_s(const struct sh_archer_plan *plan, struct sh_random *random)
{
    if (has_fault(plan, SH_ARCHER_SHORT_HOLD)) {
        return sh_chance_between(random, 0.4, 0.6);
    }
    if (has_fault(plan, SH_ARCHER_LONG_HOLD)) {
        return sh_chance_between(random, 6.5, 8.0);
    }
    return sh_chance_between(random, 2.0, 4.0);
}

static double draw_reaction_s(const struct sh_archer_plan *plan, struct sh_random *random)
{
    if (has_fault(plan, SH_ARCHER_ANTICIPATED_CLICKER)) {
        return sh_chance_between(random, 0.01, 0.06);
    }
    if (has_fault(plan, SH_ARCHER_LATE_REACTION)) {
        return sh_chance_between(random, 0.45, 0.7);
    }
    return sh_chance_between(random, 0.12, 0.22);
}

static void plan_hold(struct sh_archer_plan *plan, struct sh_random *random)
{
    const double expansion_s = draw_expansion_time_s(plan, random);
    plan->expansion_m = sh_chance_between(random, 0.002, 0.006);
    plan->expansion_end_s = plan->anchor_s + expansion_s;
    plan->has_clicker =
        !has_fault(plan, SH_ARCHER_EARLY_LOOSE) && !has_fault(plan, SH_ARCHER_LET_DOWN);
    if (plan->has_clicker) {
        plan->loose_s = plan->expansion_end_s + draw_reaction_s(plan, random);
    } else {
        plan->loose_s =
            plan->expansion_end_s - sh_chance_between(random, 0.1, 0.2) * expansion_s;
    }
    plan->creep_m =
        has_fault(plan, SH_ARCHER_CREEP) ? sh_chance_between(random, 0.006, 0.012) : 0.0;
    plan->flinch_m =
        has_fault(plan, SH_ARCHER_FLINCH) ? sh_chance_between(random, 0.005, 0.01) : 0.0;
    plan->flinch_s = plan->expansion_end_s - sh_chance_between(random, 0.18, 0.3);
    plan->collapse_m =
        has_fault(plan, SH_ARCHER_COLLAPSE) ? sh_chance_between(random, 0.005, 0.012) : 0.0;
    plan->drop_s = sh_chance_between(random, 0.003, 0.015);
    plan->let_down_s = sh_chance_between(random, 0.6, 1.5);
}

/* Lines of random frequency and phase, Gaussian about a centre kept within 6 to 12 Hz. */
static void plan_tremor(struct sh_archer_plan *plan, struct sh_random *random)
{
    const double centre_hz = sh_chance_between(random, 7.5, 10.5);
    plan->tremor_rms_n = sh_chance_between(random, 0.15, 0.4);
    plan->sway_n = sh_chance_between(random, 0.05, 0.2);
    plan->sway_hz = sh_chance_between(random, 0.2, 0.6);
    double square_sum = 0.0;
    for (size_t i = 0; i < SH_ARCHER_TREMOR_LINES; i++) {
        struct sh_archer_line *line = &plan->tremor[i];
        line->hz = fmin(12.0, fmax(6.0, centre_hz + 0.5 * sh_random_get_normal(random)));
        line->amplitude_n = sh_chance_between(random, 0.5, 1.0);
        line->phase_rad = sh_chance_between(random, 0.0, 2.0 * SH_PI);
        square_sum += 0.5 * line->amplitude_n * line->amplitude_n;
    }
    for (size_t i = 0; i < SH_ARCHER_TREMOR_LINES; i++) {
        plan->tremor[i].amplitude_n *= plan->tremor_rms_n / sqrt(square_sum);
    }
}

void sh_archer_plan_draw(struct sh_archer_plan *plan, unsigned faults, struct sh_random *random)
{
    *plan = (struct sh_archer_plan){.faults = settle_faults(faults)};
    plan_draw(plan, random);
    plan_hold(plan, random);
    plan_tremor(plan, random);
    if (has_fault(plan, SH_ARCHER_HALF_DRAW)) {
        plan->short_ratio = sh_chance_between(random, 0.25, 0.55);
    }
}

/* Bit i of a fault's value is its place here. */
static const char *const fault_names[SH_ARCHER_FAULTS] = {
    "creep",         "flinch",    "collapse",   "early-loose", "anticipated-clicker",
    "late-reaction", "long-hold", "short-hold", "let-down",    "finger-slide"};

const char *sh_archer_fault_name(enum sh_archer_fault fault)
{
    for (unsigned i = 0; i < SH_ARCHER_FAULTS; i++) {
        if ((unsigned)fault == 1u << i) {
            return fault_names[i];
        }
    }
    return "";
}

bool sh_archer_fault_find(const char *name, enum sh_archer_fault *out)
{
    for (unsigned i = 0; i < SH_ARCHER_FAULTS; i++) {
        if (strcmp(name, fault_names[i]) == 0) {
            *out = (enum sh_archer_fault)(1u << i);
            return true;
        }
    }
    return false;
}
